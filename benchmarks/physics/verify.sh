#!/bin/bash
# Run the tests named in verify.rows with their comparisons printed (tests/check.h) and put the largest relative error of
# each row into README.md, between its verification marks, and what test_rules measures between its practice marks.
# usage: verify.sh FOLDER-OF-TEST-PROGRAMS
set -euo pipefail
programs=$1
folder=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export OMP_NUM_THREADS=1 # as in make test: teams of threads wait for each other where others work, too

for name in $(grep -v '^#' "$folder/verify.rows" | cut -d'|' -f1 | sort -u); do
    CHECK_REPORT=1 "$programs/test_$name" > "$work/$name.log" 2>&1 || { tail -n 20 "$work/$name.log"; exit 1; }
done

# Print the largest |got - want| / |want| of the comparisons of one test whose text matches; fails when there is none.
largest() {
    awk -v test="$2" -v pattern="$3" '
        /^\[ RUN/ { on = $NF == test }
        /^checked: / && on && $3 != 0 {
            text = $0; sub(/^checked: [^ ]+ [^ ]+ /, "", text)
            if (text !~ pattern) next
            e = ($2 - $3) / $3; if (e < 0) e = -e
            if (!(e <= most)) most = e
            count++
        }
        END { if (!count) exit 1; printf "%d %.2g", count, 100 * most }' "$work/$1.log"
}

trim() { sed 's/^ *//;s/ *$//' <<< "$1"; }

{
    echo "| checked | against | values | largest error, % |"
    echo "|---|---|---|---|"
    grep -v '^#' "$folder/verify.rows" | while IFS='|' read -r name test rest; do
        # The pattern may hold a bar itself: it is all of the text before the last two fields.
        source=${rest##*|} rest=${rest%|*} words=${rest##*|} pattern=${rest%|*}
        figures=$(largest "$(trim "$name")" "$(trim "$test")" "$(trim "$pattern")") || {
            echo "verify.rows: no comparison of $test matches $pattern" >&2
            exit 1
        }
        echo "| $(trim "$words") | $(trim "$source") | ${figures% *} | ${figures#* } |"
    done
} > "$work/table.md"

{
    echo '```'
    "$programs/test_rules" 2>&1 | grep -v '^\['
    echo '```'
} > "$work/practice.md"

"$folder/../fill.sh" verification "$work/table.md"
"$folder/../fill.sh" practice "$work/practice.md"
cat "$work/table.md" "$work/practice.md"
