#!/usr/bin/env bash
# Test the pages in a real browser:  tests/browser/run.sh PROGRAM FOLDER [report|bench] [PICTURE.png]
# Presses a small plan, writes its report page and one of case files, and checks both and a film (report.test.mjs); then starts a bench
# and uses it (bench.test.mjs), or only one of the two. Pages, screenshots, the PDF and the packages of npm go to FOLDER; a
# picture of the bench to PICTURE.png.
set -euo pipefail
program=$(realpath "${1:?usage: tests/browser/run.sh PROGRAM FOLDER [report|bench] [PICTURE.png]}")
mkdir -p "${2:?usage: tests/browser/run.sh PROGRAM FOLDER [report|bench] [PICTURE.png]}"
picture=${4:+$(realpath "$4")}
folder=$(realpath "$2")
here=$(realpath "$(dirname "$0")")

if ! cmp -s "$here/package-lock.json" "$folder/package-lock.json" || [ ! -d "$folder/node_modules" ]; then
    cp "$here/package.json" "$folder/"
    rm -f "$folder/package-lock.json"
    cp "$here/package-lock.json" "$folder/lock"
    (cd "$folder" && mv lock package-lock.json && npm ci --no-audit --no-fund --loglevel=error) ||
        { rm -f "$folder/package-lock.json"; exit 1; }
fi

if [ "${3:-}" = bench ]; then
    exec node "$here/bench.test.mjs" "$program" "$folder" ${picture:+"$picture"}
fi
rm -f "$folder"/*.store* "$folder"/*.html "$folder"/*.png "$folder"/*.pdf
cd "$here"
"$program" batch plan.yaml --store "$folder/plan.store" --quiet
"$program" report "$folder/plan.store" --out "$folder/store.html" --quiet --states 2 \
    --title "A foot </script><b id=forged>for</b> \"bench\" & more" --question 'Which one <script>forged()</script> folds first?'
"$program" report soft.yaml firm.yaml --out "$folder/cases.html" --quiet
"$program" press soft.yaml --seeds 1 --out "$folder/soft" --quiet > /dev/null
node report.test.mjs "$folder"
if [ "${3:-}" != report ]; then
    node bench.test.mjs "$program" "$folder" ${picture:+"$picture"}
fi
