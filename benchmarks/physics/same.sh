#!/bin/bash
# Check that the figures of two programs are the same, bit for bit:   benchmarks/physics/same.sh OLD NEW WORK [NAME...]
#
# Runs every row of benchmarks/physics/same/cases.rows (or those whose name contains a NAME) with both programs and compares what they
# print, their exit status and every file they write. curve.csv holds residuals, which change in every digit when any bit of a
# state does: files alike mean states alike. Left out of the comparison is what differs from run to run or between two
# builds of the same source: seconds, version, the build line. Exit status 1 when anything differs. What OLD wrote is kept in WORK
# for the next time, as long as OLD and the row are the same.
set -uo pipefail
[ $# -ge 3 ] || { echo "usage: benchmarks/physics/same.sh OLD NEW WORK [NAME...]" >&2; exit 2; }
for program in "$1" "$2"; do
    [ -x "$program" ] && [ -f "$program" ] || { echo "make same: received '$program'; valid: OLD=PROGRAM, a strutpress to compare with" >&2; exit 2; }
done
old=$(realpath "$1") new=$(realpath "$2")
mkdir -p "$3" && work=$(realpath "$3")
shift 3
wanted=("$@")
here=$(realpath "$(dirname "$0")/same")
export LC_ALL=C OMP_NUM_THREADS=1

# Leave out what differs between two runs of one program, two builds of one source, or two places of one folder. A forecast
# may rest on a coarse press, whose time is measured.
steady() {
    sed -i -E "/^forecast  /d; /\"(version|build|program|seconds_[a-z]+)\":/d; s/strutpress [0-9]+\.[0-9]+\.[0-9]+/strutpress/; s|$here/||g" "$@"
}

# run PROGRAM FOLDER COMMAND FILE SETTING...: everything it prints and writes into the folder.
run() {
    local program=$1 folder=$2 command=$3 file=$here/$4 set=() setting
    shift 4
    for setting in "$@"; do
        case $setting in
        *=../../*) setting=${setting%%=*}=$(realpath "$here/${setting#*=}") ;;
        esac
        set+=(--set "$setting")
    done
    rm -rf "$folder" && mkdir -p "$folder" && cd "$folder" || exit 2
    {
        case $command in
        press)
            "$program" help press | grep -q -- --seeds && set+=(--seeds 1)
            "$program" press "$file" --quiet --out out "${set[@]}"
            ;;
        check) "$program" check "$file" --quiet --out out "${set[@]}" ;;
        batch)
            "$program" batch "$file" --quiet --threads 1 --store s.store &&
                "$program" compare s.store --out out &&
                "$program" report s.store --quiet --out out/report.html
            ;;
        seek | calibrate) "$program" "$command" "$file" --quiet --threads 1 --store s.store --out out ;;
        esac
        echo "exit $?"
    } > printed.txt 2> told.txt < /dev/null
    rm -f s.store*
    find . -type f -print0 | sort -z | xargs -0 grep -lIZ . | while IFS= read -r -d '' text; do steady "$text"; done
    cd - > /dev/null || exit 2
}

# Print the first line that differs, of both programs.
show_difference() {
    local lines
    if [ ! -e "$old_folder/$1" ]; then echo "    $1: only the present program writes it"; return; fi
    if [ ! -e "$new_folder/$1" ]; then echo "    $1: only the old program writes it"; return; fi
    lines=$(diff "$old_folder/$1" "$new_folder/$1" | grep -c '^[<>]')
    echo "    $1: $lines lines differ"
    diff "$old_folder/$1" "$new_folder/$1" | grep '^[<>]' | awk '/^</ && !a++ { print } /^>/ && !b++ { print }' | cut -c 1-160 | sed 's/^</      old /; s/^>/      new /'
}

is_wanted() {
    local name
    [ ${#wanted[@]} = 0 ] && return 0
    for name in "${wanted[@]}"; do [[ $1 == *"$name"* ]] && return 0; done
    return 1
}

of_old=$(sha256sum < "$old" | cut -c 1-16)
count=0 files=0 different=0
while read -r command name file settings; do
    case $command in "" | "#"*) continue ;; esac
    is_wanted "$name" || continue
    row=$(echo "$of_old $command $file $settings" "$(cat "$here"/*.yaml "$here"/*.csv)" | sha256sum | cut -c 1-16)
    old_folder=$work/old/$name-$row new_folder=$work/new/$name
    # shellcheck disable=SC2086 # settings are words
    [ -s "$old_folder/printed.txt" ] || run "$old" "$old_folder" "$command" "$file" $settings
    # shellcheck disable=SC2086
    run "$new" "$new_folder" "$command" "$file" $settings
    count=$((count + 1))
    list=$({ cd "$old_folder" && find . -type f; cd "$new_folder" && find . -type f; } | sort -u)
    files=$((files + $(wc -l <<< "$list")))
    bad=$(while IFS= read -r one; do cmp -s "$old_folder/$one" "$new_folder/$one" || echo "${one#./}"; done <<< "$list")
    [ -z "$bad" ] && continue
    different=$((different + 1))
    echo "  $command $name: $(wc -l <<< "$bad") of $(wc -l <<< "$list") files differ"
    shown=0
    while IFS= read -r one; do
        [ $shown -lt 3 ] && show_difference "$one"
        shown=$((shown + 1))
    done <<< "$bad"
done < "$here/cases.rows"
if [ $different = 0 ]; then
    echo "same: $count cases, $files files, every one the same to the last bit"
else
    echo "same: $different of $count cases differ"
    exit 1
fi
