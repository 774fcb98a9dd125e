#!/bin/bash
# Write the speed lines of README.md from results.csv and batch.csv beside this file.
set -euo pipefail
folder=$(cd "$(dirname "$0")" && pwd)
lines=$(mktemp)
trap 'rm -f "$lines"' EXIT
{
    echo '```'
    awk -F, '$1 == "reference" {
        printf "%2.0f %%, %4d struts: %5.2f s, %.2f times the sparse solver, %.1f factorizations a step to 50 %% strain, %.1f beyond\n", 100 * $3, $4, $8, $12, $14, $15
    } $1 == "size" { if (!n++) least = $4; most = $4; memory = $19 }
    /^# seconds/ { sub(/^# /, ""); line[++lines] = $0 }
    END {
        for (i = 1; i <= lines; i++) print line[i]
        printf "%d to %d struts, %.0f MB for the largest\n", least, most, memory
    }' "$folder/results.csv"
    sed -n 's/^# \(.* coupons per minute.*\)/\1/p; s/^# \(two threads [^(]*\) (wanted.*/\1/p; s/^# \(.* compared in .* s\) .*/\1/p' "$folder/batch.csv" |
        sed 's/ : / /'
    echo '```'
} > "$lines"
"$folder/fill.sh" speed "$lines"
cat "$lines"
