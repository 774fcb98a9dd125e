#!/bin/bash
# Write the speed lines of README.md from results.csv, batch.csv and cells.csv beside this file, as far as they exist.
set -euo pipefail
folder=$(cd "$(dirname "$0")" && pwd)
lines=$(mktemp)
trap 'rm -f "$lines"' EXIT
{
    echo '```'
    [ ! -f "$folder/results.csv" ] || awk -F, '$1 == "reference" {
        printf "%2.0f %%, %4d struts: %5.2f s, %.2f times the sparse solver, %.1f factorizations a step to 50 %% strain, %.1f beyond\n", 100 * $3, $4, $8, $12, $14, $15
    } $1 == "size" { if (!n++) least = $4; most = $4; memory = $19 }
    /^# seconds/ { sub(/^# /, ""); line[++lines] = $0 }
    END {
        for (i = 1; i <= lines; i++) print line[i]
        printf "%d to %d struts, %.0f MB for the largest\n", least, most, memory
    }' "$folder/results.csv"
    [ ! -f "$folder/batch.csv" ] || sed -n 's/^# \(.* coupons per minute.*\)/\1/p; s/^# \(two threads [^(]*\) (wanted.*/\1/p; s/^# \(.* compared in .* s\) .*/\1/p' "$folder/batch.csv" |
        sed 's/ : / /'
    [ ! -f "$folder/cells.csv" ] || awk -F, '
        BEGIN { print "\nblocks of cells in space" }
        function name(text) { gsub("-", " ", text); return text }
        $1 == "whole" { printf "%-18s %d^3, %5d unknowns, to %s strain: %5.1f s, %.2f times the sparse solver, %4d factorizations\n", name($2), $3, $6, $4, $10, $15, $17 }
        $1 == "size" { edge = $3; unknowns = $6; seconds = $10; ratio = $15; share = $19; memory = $20; steps = $7 }
        /BUSY/ { busy = 1 }
        /^# (seconds|memory) .* unknowns|^# one large/ { sub(/^# /, ""); line[++lines] = $0 }
        /^# 60/ { sub(/^# /, ""); sub(/: fewer cells.*/, ""); line[++lines] = $0 }
        END {
            printf "%d^3 body centred cells, %d unknowns: %d steps in %.0f s, %.2f times the sparse solver, %.0f %% of dgemm, %.1f GB\n", edge, unknowns, steps, seconds, ratio, 100 * share, memory / 1024
            for (i = 1; i <= lines; i++) print line[i]
            if (busy) print "(the machine was not idle: seconds in space are too long)"
        }' "$folder/cells.csv"
    echo '```'
} > "$lines"
"$folder/../fill.sh" speed "$lines"
cat "$lines"
