#!/bin/bash
# Make curves as a load cell would give them, for docs/demo/feet-tested.yaml. They are invented: presses with a modulus, a joint zone
# and flaw seeds that no case of the demo has, some slack before the coupon is touched, and noise.
# usage: docs/demo/rig/invent.sh STRUTPRESS
set -euo pipefail
folder=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# name, pattern, angle, density, flaw seed, slack [mm]
while read -r name pattern angle density seed slack; do
    "$1" press "$folder/../foot-soft.yaml" --out "$work/$name" --quiet --set "infill.pattern=$pattern" \
        --set "infill.angle=$angle deg" --set "infill.density=$density %" --set "flaws.seed=$seed" \
        --set "material.modulus=22.6 MPa" --set model.joint_zone=1.45 --set press.find_critical=no > "$work/$name.txt"
    awk -F, -v slack="$slack" -v seed="$seed" -v name="$name" '
        BEGIN { srand(seed); print "# invented for the demo: docs/demo/rig/invent.sh"; print "shortening_mm,force_N" }
        function noise() { return 2 * rand() - 1 }
        NR == 1 { next }
        $1 == 0 { for (u = 0; u < slack; u += 0.06) printf "%.3f,%.2f\n", u, 0.15 * noise(); }
        $1 > 0 { printf "%.3f,%.2f\n", $2 + slack, $3 * (1 + 0.01 * noise()) + 0.15 * noise() }
    ' "$work/$name/curve.csv" > "$folder/$name.csv"
done << ROWS
squares-12 square 45 12 41 0.18
squares-18 square 45 18 42 0.12
kagome-14 kagome 0 14 43 0.24
ROWS

# Make the curve of the foam foot that the bench microscope came with, as an old rig exports it: decimal commas, pressing negative, some way through
# the air, and back. It is invented: no foam was tested.
awk '
    function noise() { return 2 * rand() - 1 }
    function foam(u) { return 29 * (1 - exp(-u / 0.35)) + 0.9 * u + 0.012 * u ^ 3 }
    function comma(x) { sub(/\./, ",", x); return x }
    BEGIN {
        srand(7)
        print "Prüfling: Schaumfuß 30 x 24 mm"
        print "Zeit [s];Weg [mm];Kraft [kN]"
        for (i = 0; i <= 520; i++) {
            u = i <= 260 ? 0.05 * i : 0.05 * (520 - i)
            f = u > 0.8 ? foam(u - 0.8) * (i > 260 ? 0.75 : 1) : 0
            printf "%s;%s;%s\n", comma(sprintf("%.1f", 0.3 * i)), comma(sprintf("%.3f", -u)), comma(sprintf("%.5f", -(f + 0.1 * noise()) / 1000))
        }
    }' > "$folder/foam-foot.txt"
