#!/bin/bash
# Show what the mesh, the steps, the points through the thickness, the contact points and the flaws change: four coupons are pressed
# with one thing changed at a time.
# usage: convergence.sh STRUTPRESS; writes convergence.csv beside this file (about five minutes).
set -euo pipefail
program=$1
folder=$(cd "$(dirname "$0")" && pwd)
demo=$folder/../../docs/demo
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# Nominal stress and strain of a hard filament that yields at 20 MPa and goes on at 0.3 MPa: made up.
awk 'BEGIN { for (e = 0.01; e < 1; e = e < 0.012 ? e + 5e-4 : e * 1.3) printf "%.12g,%.12g\n", exp(e) - 1, (20 + 0.3 * (e - 0.01)) / exp(e) }' \
    > "$work/hard.csv"

# coupon FILE SETTING...: the four coupons.
coupons() {
    echo "foot-soft|$demo/foot-soft.yaml|"
    echo "foot-firm|$demo/foot-firm.yaml|"
    echo "kelvin-pad|$demo/kelvin-pad.yaml|"
    echo "foot-soft that yields|$demo/foot-soft.yaml|--set material.law=yielding --set material.table=$work/hard.csv --set press.strain=55%"
}

# changed|value|settings; a change that does not act on a coupon is left out for it.
changes() {
    echo "nothing|-|"
    if [[ $1 == *yields ]]; then meshes="8 16 24 32"; else meshes="8 16"; fi
    for n in $meshes; do echo "model.elements_per_strut|$n|--set model.elements_per_strut=$n"; done
    for n in 280 560; do echo "press.steps|$n|--set press.steps=$n"; done
    [[ $1 == *yields ]] && for n in 8 16; do echo "model.section_points|$n|--set model.section_points=$n"; done
    if [ "$1" = kelvin-pad ]; then spacing="0.3 0.075"; else spacing="0.64 0.16"; fi
    for n in $spacing; do echo "model.contact_spacing|$n|--set model.contact_spacing=$n"; done
    for n in 140 280 560; do
        [[ $1 == *yields ]] || echo "press.steps with friction 0.3|$n|--set material.friction=0.3 --set press.steps=$n"
    done
    for n in 2 3 4 5; do echo "flaws.seed|$n|--set flaws.seed=$n"; done
}

{
    "$program" --version | sed -n '1s/^/# /p'
    echo "coupon,changed,value,force_25_N,force_50_N,force_65_N"
    coupons | while IFS='|' read -r name file settings; do
        changes "$name" | while IFS='|' read -r changed value more; do
            # shellcheck disable=SC2086 # several arguments
            "$program" press "$file" --seeds 1 --quiet --out "$work/out" --set press.find_critical=no --set press.load_limit=none $settings $more \
                > "$work/table.txt" < /dev/null || [ $? = 8 ] # 8: ended early
            awk -v line="$name,$changed,$value" '
                $2 + 0 == $2 { figure[$1] = $2 } # a figure that is not reached stays empty
                END { print line "," figure["force_25"] "," figure["force_50"] "," figure["force_65"] }' "$work/table.txt"
        done
    done
} > "$folder/convergence.csv.tmp"
mv "$folder/convergence.csv.tmp" "$folder/convergence.csv"
cat "$folder/convergence.csv"
