#!/bin/bash
# Replace what stands between <!-- NAME --> and <!-- end of NAME --> in README.md by a file.
# usage: fill.sh NAME FILE
set -euo pipefail
readme=$(cd "$(dirname "$0")" && pwd)/../README.md
grep -q "<!-- end of $1 -->" "$readme" || { echo "README.md: no mark <!-- end of $1 -->" >&2; exit 1; }
filled=$(awk -v from="<!-- $1 -->" -v to="<!-- end of $1 -->" -v file="$2" '
    $0 == to { skip = 0 }
    !skip { print }
    $0 == from { while ((getline line < file) > 0) print line; skip = 1 }' "$readme")
printf '%s\n' "$filled" > "$readme"
