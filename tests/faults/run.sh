#!/bin/bash
# Test sets of files under faults:  tests/faults/run.sh PROGRAM SHIM [COMMAND...]
#
# For each command (check, press, compare, seek, calibrate, report; all of them when none is named) a folder holds the set of an
# earlier run and a file of the user's own. The command writes another set there while the shim (fail_call.c) makes its
# n-th call fail, kills it before that call, or sends it a signal, for every n. Then:
#   - whoever opens the files of the folder reads the whole old set or the whole new one;
#   - exit status 0 means the new set, 6 the old one;
#   - after a failure or a signal nothing hidden stays but the list; after a kill the next run makes the new set;
#   - the user's own file is as it was.
# On a file system without links (FAIL_LINKS) a kill may leave a part of one set, but never files of both.
set -u
ulimit -c 0
export LC_ALL=C OMP_NUM_THREADS=1
program=$(realpath "${1:?usage: tests/faults/run.sh PROGRAM SHIM [COMMAND...]}")
shim=$(realpath "${2:?usage: tests/faults/run.sh PROGRAM SHIM [COMMAND...]}")
shift 2
[ $# -gt 0 ] || set -- check press compare seek calibrate report
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1

small='press: {strain: 4 %, steps: 2, find_critical: no}'
coupon='coupon: {width: 12 mm, height: 10 mm}'
vary='vary: {coupon.depth: {from: 5, to: 9}}'
printf '%s\n%s\n' "$coupon" "$small" > old.yaml
printf '%s\n%s\ninfill: {pattern: triangular}\n' "$coupon" "$small" > new.yaml
# A coupon in space has a file that the other set lacks.
printf 'coupon: {width: 12, depth: 12, height: 12}\ninfill: {pattern: simple-cubic, cells: [1, 1, 1]}\n%s\n' "$small" > space.yaml
printf 'case:\n  %s\n  %s\n%s\nrequire: {mass: {at_least: 0.01 g}}\n' "$coupon" "$small" "$vary" > old-target.yaml
printf 'case:\n  %s\n  %s\n  infill: {pattern: triangular}\n%s\nrequire: {mass: {at_least: 0.02 g}}\n' "$coupon" "$small" "$vary" > new-target.yaml
printf '0 0\n0.2 0.5\n0.4 1\n' > rig.csv
printf 'case:\n  %s\n  %s\nfit: {material.modulus: {from: 5 MPa, to: 60 MPa}}\ntested:\n  - {curve: rig.csv}\n' "$coupon" "$small" > old-tested.yaml
sed 's/5 MPa/6 MPa/; s/60 MPa/70 MPa/; s/12 mm/13 mm/' old-tested.yaml > new-tested.yaml

run() { # COMMAND old|new FOLDER
    case $1 in
    check) "$program" check "$([ "$2" = old ] && echo old || echo space).yaml" --out "$3" --quiet ;;
    press) "$program" press --seeds 1 "$2.yaml" --out "$3" --quiet ;;
    compare) "$program" compare "$2.yaml" --store "$2.store" --out "$3" --quiet ;;
    seek) "$program" seek "$2-target.yaml" --store "$2.store" --out "$3" --quiet ;;
    calibrate) "$program" calibrate "$2-tested.yaml" --store "$2.store" --out "$3" --quiet ;;
    report) "$program" report "$2.store" --out "$3/page.html" --quiet --states 0 ;;
    esac
}

# Print what a reader of the files of a folder sees, without the times of a run; links to nothing count as missing.
visible() {
    (cd "$1" && find -L . -maxdepth 1 -type f ! -name '.*' -printf '%f\n' | sort |
        xargs -r grep -Hav 'seconds_\|"pressed":\|"stored":' | tr -d '\0')
}

hidden() { (cd "$1" && find . -mindepth 1 -name '.*' ! -name .strutpress-files); }

bad=0 runs=0
complain() {
    echo "  $command, $how at call $n${FAIL_LINKS:+ without links}: $1"
    bad=$((bad + 1))
}

check_after() { # STATUS
    local seen
    seen=$(visible folder)
    if [ "$how" = kill ] && [ -n "${FAIL_LINKS:-}" ]; then
        [ -z "$(comm -23 <(sort <<< "$seen") <(sort <<< "$old"))" ] ||
            [ -z "$(comm -23 <(sort <<< "$seen") <(sort <<< "$new"))" ] || complain "files of both sets"
    elif [ "$seen" = "$old" ]; then
        [ "$1" != 0 ] || complain "exit status 0 with the old set"
    elif [ "$seen" = "$new" ]; then
        [ "$1" != 6 ] || complain "exit status 6 with the new set"
    else
        complain "neither the old set nor the new one"
    fi
    [ "$how" = kill ] || [ -z "$(hidden folder)" ] || complain "left behind: $(hidden folder)"
}

check_next() {
    run "$command" new folder > /dev/null 2>&1 || complain "the next run ends with $?"
    [ "$(visible folder)" = "$new" ] || complain "the next run does not bring the new set"
    [ -z "$(hidden folder)" ] || complain "the next run leaves $(hidden folder)"
}

try_all() { # HOW
    local status
    how=$1
    rm -rf folder && cp -a before folder
    (export LD_PRELOAD=$shim FAIL_COUNT=$work/count; run "$command" new folder) > /dev/null 2>&1
    calls=$(cat count)
    for ((n = 1; n <= calls; n++)); do
        rm -rf folder && cp -a before folder
        (export LD_PRELOAD=$shim FAIL_CALL=$n FAIL_HOW=$how
            exec 2> fault.err
            run "$command" new folder > fault.out) 2> /dev/null
        status=$?
        runs=$((runs + 1))
        check_after $status
        [ "$how" != kill ] || [ $((n % 5)) != 0 ] || check_next
    done
}

for command; do
    rm -rf before wanted folder
    run "$command" old before > /dev/null 2>&1 && run "$command" new wanted > /dev/null 2>&1 ||
        { echo "  $command: cannot be run"; exit 1; }
    echo mine > before/mine.txt
    echo mine > wanted/mine.txt
    echo mine > before/state_900.vtu # a name like the program's, of the user
    echo mine > wanted/state_900.vtu
    old=$(visible before) new=$(visible wanted)
    [ "$old" != "$new" ] || { echo "  $command: both sets are the same"; exit 1; }
    for links in yes no; do
        [ $links = yes ] && unset FAIL_LINKS || export FAIL_LINKS=1
        for mode in error kill 3; do try_all $mode; done
        echo "  $command, $([ $links = yes ] && echo links || echo no links): each of $calls calls failed, killed and interrupted"
    done
done
echo "files under faults: $runs runs, $bad failed"
[ $bad = 0 ]
