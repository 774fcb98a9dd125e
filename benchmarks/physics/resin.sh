#!/bin/bash
# Fit a filament to all tests of the resin of tests/data/beam_lattices/resin (open data, CC BY 4.0), press its body-centred block and
# let it go at two speeds, and write the figures beside those of the printed blocks.
#   benchmarks/physics/resin.sh PROGRAM OUT.csv
set -eu
program=$(realpath "$1") out=$(realpath -m "$2") data=$(realpath "$(dirname "$0")/../../tests/data/beam_lattices/resin")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
for flow in yes two; do {
    echo "name: resin of the printed blocks"
    echo "flow: $flow"
    echo "times: [1 s, 10 s, 100 s, 1000 s, 10000 s]"
    echo "material:"
    for f in "$data"/base/*.txt; do echo "  - {curve: $f, columns: [4, 5, 6]}"; done
} > "tests-$flow.yaml"; "$program" calibrate "tests-$flow.yaml" --quiet --out "fit-$flow" > "table-$flow.txt" 2> /dev/null; done
# shortening, force in columns a and b: largest force, share of the work that is lost, shortening left at no force / largest
loop() {
    awk -F"$1" -v a="$2" -v b="$3" 'NR > 1 {u[++n] = $a; f[n] = $b; if ($a > u[top + 0]) top = n; if ($b > peak) peak = $b}
        END {for (i = 2; i <= top; i++) in_ += (f[i] + f[i - 1]) / 2 * (u[i] - u[i - 1])
             for (i = top + 1; i <= n; i++) {if (f[i] <= 0.001 * peak) break; back -= (f[i] + f[i - 1]) / 2 * (u[i] - u[i - 1])}
             printf "%.2f,%.3f,%.3f\n", peak, 1 - back / in_, u[i < n ? i : n] / u[top]}' "$4"
}
echo "block,mm_per_min,peak_N,loss,left" > "$out"
for f in r0375_L3:0.375 r375_L1:3.75 r375_L2:3.75; do
    echo "printed ${f%:*},${f#*:},$(loop '[ \t]+' 2 3 "$data/press/msla_bcc_test_${f%:*}.txt")" >> "$out"
done
# Each row is how many branches flow, and how many elements a strut has (default: as a case without that key has them).
while read -r flow elements; do for v in 0.375 3.75; do
    [ "$elements" = default ] && model= || model="model: {elements_per_strut: $elements}"
    cat > block.yaml << CASE
coupon: {width: 30 mm, height: 30 mm, depth: 30 mm}
infill: {pattern: body-centred-cubic, cells: [3, 3, 3], strut_diameter: 1.2 mm}
material: {filament: fit-$flow/filament.yaml}
platens: {hold: bonded}
press: {load_limit: none, steps: 60, find_critical: no, protocol: [press to 14.993 % at $v mm/min, release at $v mm/min]}
$model
CASE
    "$program" press --seeds 1 block.yaml --quiet --out "block-$v" < /dev/null > /dev/null 2>&1
    echo "predicted flow: $flow${model:+; $elements elements a strut},$v,$(loop , 2 3 "block-$v/curve.csv")" >> "$out"
done; done << 'ROWS'
yes default
two default
two 24
ROWS
cat "$out"
