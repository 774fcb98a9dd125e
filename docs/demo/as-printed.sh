#!/usr/bin/env bash
# This script goes from a question to a print and back: as-printed.sh PROGRAM FOLDER. It chooses a foot by a target, writes it for a printer as a
# closed surface and as a path of beads, reads the surface back, makes a path of the surface with a script of this demo
# (path_of_mesh.py, Python 3 without any package), reads both paths as a printer would lay them down (pattern: printed), presses
# all of them, and prints how far they are apart. A real path comes from the program of your own printer, made of the surface.
set -euo pipefail
program=$1 folder=$2
demo=$(dirname "$(realpath "$0")")
mkdir -p "$folder"
cat > "$folder/target.yaml" <<TARGET
# The question is: which foot carries 28 to 40 N at a quarter of its height with the least filament?
base: $demo/foot-soft.yaml
case:
  press: {strain: 30 %, steps: 60, find_critical: no}
candidates: {infill.pattern: [square]}
vary: {infill.density: {from: 10 %, to: 18 %, within: 1 %}}
require:
  force_25: {at_least: 28 N, at_most: 40 N}
save: mass
TARGET
rm -f "$folder/chosen.store"
"$program" seek "$folder/target.yaml" --store "$folder/chosen.store" --out "$folder/chosen" --quiet > "$folder/chosen.txt"
grep '^ 1\. ' "$folder/chosen.txt"
chosen=$folder/chosen/answer-1-square.yaml
"$program" mesh "$chosen" --out "$folder" --quiet
"$program" path "$chosen" --bed 220,220,250 --out "$folder" --quiet
"$program" check "$folder/coupon.stl" --case "$chosen" --quiet > "$folder/mesh.txt"
grep '^volume.*%' "$folder/mesh.txt" | tail -n 1
paths=coupon
if command -v python3 > "$folder/python"; then
    python3 "$demo/path_of_mesh.py" "$folder/coupon.stl" 0.42 > "$folder/mesh.path"
    paths="coupon mesh"
else
    echo "python3 is not here: the path of the mesh is left out"
fi
for path in $paths; do
    cat > "$folder/$path.yaml" <<CASE
# This is the chosen foot as the path in this folder lays it down.
coupon: {width: 28 mm, height: 24 mm, depth: 20 mm}
infill: {pattern: printed, toolpath: $path.path, filament_diameter: 1.75 mm}
material: {law: neo-hookean, modulus: 30 MPa}
platens: {hold: bonded}
press: {strain: 30 %, steps: 60, find_critical: no, load_limit: 6 kN}
CASE
    "$program" check "$folder/$path.yaml" --out "$folder/network-$path" --quiet > "$folder/check-$path.txt"
    sed -n '/^tool path/,$p' "$folder/check-$path.txt"
    "$program" press --seeds 1 "$folder/$path.yaml" --out "$folder/printed-$path" --quiet > "$folder/printed-$path.txt"
done
"$program" press --seeds 1 "$chosen" --out "$folder/drawn" --quiet > "$folder/drawn.txt"
awk '$1 == "mass" { m[FILENAME] = $2 } $1 == "initial_stiffness" { k[FILENAME] = $2 } $1 == "force_25" { f[FILENAME] = $2 }
    END {
        a = ARGV[1]
        printf "chosen       %6.2f g, %7.2f N/mm at first touch, %7.2f N at 25 %%\n", m[a], k[a], f[a]
        for (i = 2; i < ARGC; i++) {
            b = ARGV[i]
            printf "%-12s %6.2f g, %7.2f N/mm at first touch, %7.2f N at 25 %%\n", i == 2 ? "its path" : "of its mesh", m[b], k[b], f[b]
            printf "apart        %+6.1f %%, %+6.1f %%              , %+6.1f %%\n", 100 * (m[b] / m[a] - 1), 100 * (k[b] / k[a] - 1), 100 * (f[b] / f[a] - 1)
        }
    }' "$folder/drawn.txt" $(printf "$folder/printed-%s.txt " $paths)
# Flaws are drawn by the numbers of the struts, which a path counts in another order: without flaws the difference vanishes.
for case in "$chosen" $(printf "$folder/%s.yaml " $paths); do
    "$program" press --seeds 1 "$case" --set flaws.seed=0 --out "$folder/without-flaws" --quiet | awk '$1 == "force_25" { print $2 }'
done | paste -sd ' ' | sed 's/^/all without flaws at 25 % [N]: /'
