#!/usr/bin/env bash
# From a design to its print and back: as-printed.sh PROGRAM FOLDER. Writes the soft foot for a printer as a closed surface and as
# a path of beads, reads the path as a printer would lay it down (pattern: printed), and presses both. A real path comes from your
# own printer's program; this one is the program's own, so that the demo needs nothing else.
set -euo pipefail
program=$1 folder=$2
demo=$(dirname "$(realpath "$0")")
mkdir -p "$folder"
"$program" mesh "$demo/foot-soft.yaml" --out "$folder" --quiet
"$program" path "$demo/foot-soft.yaml" --bed 220,220,250 --out "$folder" --quiet
cat > "$folder/printed.yaml" <<'CASE'
# The soft foot as the path in this folder lays it down.
coupon: {width: 28 mm, height: 24 mm, depth: 20 mm}
infill: {pattern: printed, toolpath: coupon.path, filament_diameter: 1.75 mm}
material: {law: neo-hookean, modulus: 30 MPa}
platens: {hold: bonded}
press: {load_limit: 6 kN}
CASE
"$program" check "$folder/printed.yaml" --out "$folder/network" --quiet > "$folder/check.txt"
sed -n '/^tool path/,$p' "$folder/check.txt"
"$program" press --seeds 1 "$demo/foot-soft.yaml" --out "$folder/drawn" --quiet > "$folder/drawn.txt"
"$program" press --seeds 1 "$folder/printed.yaml" --out "$folder/printed" --quiet > "$folder/printed.txt"
for which in drawn printed; do
    awk -v which=$which '$1 == "initial_stiffness" { k = $2 } $1 == "force_25" { f = $2 } $1 == "mass" { m = $2 }
        END { printf "%-8s %6.2f g, %7.2f N/mm at first touch, %7.2f N at 25 %%\n", which, m, k, f }' "$folder/$which.txt"
done
