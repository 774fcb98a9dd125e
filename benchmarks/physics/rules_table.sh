#!/bin/bash
# Write the table of rules.csv in docs/theory.md: force at 65 % strain with each constant of E12, and its change.
set -euo pipefail
here=$(realpath "$(dirname "$0")")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
awk -F, '
    BEGIN {
        print "| constant | as it is | changed to | foot-soft, force at 65 % | foot-firm, force at 65 % |"
        print "|---|---|---|---|---|"
        split("own_reach goes_on one_body in_line rest_slack", key, " ")
        split("along a bead [`t12`]:cosine of the angle:one body [`t12`]:one line [`t12`]:layer over distance", word, ":")
        split("3 -0.1 0.25 0.3 0.97", usual, " ")
        for (i = 1; i <= 5; i++) { name[key[i]] = word[i]; was[key[i]] = usual[i] }
    }
    /^#/ || $1 == "constant" { next }
    $1 == "as_it_is" { base[$3] = $5; range[$3] = $6 " .. " $7; next }
    { text[$3] = sprintf("%s N (%+.1f %%)", $5, 100 * ($5 / base[$3] - 1)) }
    $3 == "foot-firm" { print "| " name[$1] " | " was[$1] " | " $2 " | " text["foot-soft"] " | " text["foot-firm"] " |" }
    END { print "| none; the flaw seeds alone | | | " base["foot-soft"] " N (" range["foot-soft"] ") | " base["foot-firm"] " N (" range["foot-firm"] ") |" }' \
    "$here/rules.csv" > "$work/table.md"
"$here/../fill.sh" rules "$work/table.md" "$here/../../docs/theory.md"
