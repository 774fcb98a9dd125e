#!/bin/bash
# Replace the text between <!-- NAME --> and <!-- end of NAME --> in README.md, or in PAGE, by a file.
# usage: fill.sh NAME FILE [PAGE]
set -euo pipefail
page=${3:-$(cd "$(dirname "$0")" && pwd)/../README.md}
grep -q "<!-- end of $1 -->" "$page" || { echo "$page: no mark <!-- end of $1 -->" >&2; exit 1; }
filled=$(awk -v from="<!-- $1 -->" -v to="<!-- end of $1 -->" -v file="$2" '
    $0 == to { skip = 0 }
    !skip { print }
    $0 == from { while ((getline line < file) > 0) print line; skip = 1 }' "$page")
printf '%s\n' "$filled" > "$page"
