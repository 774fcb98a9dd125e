#!/bin/bash
# Run every command under limits on address space:  tests/faults/memory.sh PROGRAM [MEGABYTES...]
#
# Under `ulimit -v` each command ends with its result (and then with the same figures) or with exit status 7 and the word
# "memory" in its message; it does not crash, hang or end otherwise. The libraries alone take some 96 MB: below that the
# loader refuses, before the program can say anything.
set -u
ulimit -c 0
export LC_ALL=C OMP_NUM_THREADS=${OMP_NUM_THREADS:-2}
program=$(realpath "${1:?usage: tests/faults/memory.sh PROGRAM [MEGABYTES...]}")
shift
[ $# -gt 0 ] || set -- 100 105 110 120 130 145 160 180 200 230 260 300 350 400 500 700 1000 1500 2000
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1

small='press: {strain: 4 %, steps: 2, find_critical: no}'
printf 'coupon: {width: 12 mm, height: 10 mm}\n%s\n' "$small" > flat.yaml
# its factor is in blocks, which needs buffers of BLAS, and its elements are evaluated on several threads
printf 'coupon: {width: 20, depth: 20, height: 20}\ninfill: {pattern: kelvin, cells: [3, 3, 3]}\n%s\n' "$small" > space.yaml
printf 'base: flat.yaml\naxes: {infill.pattern: [square, triangular]}\nseeds: 2\n' > plan.yaml
printf 'case:\n  coupon: {width: 12 mm, height: 10 mm}\n  %s\nvary: {coupon.depth: {from: 5, to: 9}}\nrequire: {mass: {at_least: 0.01 g}}\n' "$small" > target.yaml
printf '0 0\n0.2 0.5\n0.4 1\n' > rig.csv
printf 'case:\n  coupon: {width: 12 mm, height: 10 mm}\n  %s\nfit: {material.modulus: {from: 5 MPa, to: 60 MPa}}\ntested:\n  - {curve: rig.csv}\n' "$small" > tested.yaml
"$program" batch plan.yaml --store stored.store --quiet > /dev/null 2>&1 || { echo "memory: no store"; exit 1; }

commands=(
    "list patterns"
    "check space.yaml --out o --quiet"
    "press --seeds 1 flat.yaml --out o --quiet"
    "press --seeds 1 space.yaml --out o --quiet"
    "batch plan.yaml --store b.store --quiet"
    "batch space-plan.yaml --store b.store --quiet"
    "gather stored.store --store g.store"
    "compare stored.store --out o"
    "compare flat.yaml space.yaml --store b.store --quiet"
    "seek target.yaml --store b.store --out o --quiet"
    "calibrate tested.yaml --store b.store --out o --quiet"
    "report stored.store --out o/page.html --quiet"
    "report flat.yaml space.yaml --out o/page.html --quiet"
)
printf 'base: space.yaml\naxes: {infill.pattern: [kelvin, octet-truss]}\n' > space-plan.yaml

# Compare the table of a run and its curve, which must not depend on memory.
figures() { grep -vE 'pressed|stored|page  |gathered' stdout; cat o/curve.csv 2> /dev/null; }

bad=0 runs=0 refused=0
for command in "${commands[@]}"; do
    read -ra words <<< "$command"
    rm -rf o b.store g.store
    "$program" "${words[@]}" > stdout 2> stderr || { echo "  $command: ends with $? without a limit"; exit 1; }
    wanted=$(figures)
    for megabytes; do
        rm -rf o b.store* g.store*
        (ulimit -v $((1024 * megabytes)) && exec timeout 60 "$program" "${words[@]}") > stdout 2> stderr
        status=$? runs=$((runs + 1))
        case $status in
        0) grep -q memory stderr || [ "$(figures)" = "$wanted" ] ||
            { echo "  $command, $megabytes MB: other figures"; bad=$((bad + 1)); } ;;
        7) refused=$((refused + 1))
            grep -q memory stderr ||
            { echo "  $command, $megabytes MB: no word of memory: $(tail -n 1 stderr)"; bad=$((bad + 1)); } ;;
        *) echo "  $command, $megabytes MB: ends with $status: $(tail -n 1 stderr)"; bad=$((bad + 1)) ;;
        esac
    done
done
echo "limits on address space: $runs runs, $refused without memory, $bad failed"
[ $bad = 0 ]
