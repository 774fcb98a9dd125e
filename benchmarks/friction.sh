#!/bin/bash
# What friction changes: the two feet of the demo with coefficients between struts, and on platens that hold by friction alone.
# usage: friction.sh STRUTPRESS; writes friction.csv beside this file.
set -euo pipefail
program=$1
folder=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
{
    echo "coupon,platens,friction_platens,friction_struts,force_10_N,force_25_N,force_50_N,force_65_N,dissipated_mJ"
    for coupon in foot-soft foot-firm; do
        for row in "bonded 0 0" "bonded 0.5 0" "bonded 0.5 0.25" "bonded 0.5 0.5" "bonded 0.5 1" \
                   "sliding 0 0" "friction 0.1 0" "friction 0.5 0" "friction 0.5 0.5"; do
            read -r hold platens struts <<< "$row"
            "$program" press "$folder/../docs/demo/$coupon.yaml" --quiet --out "$work/out" \
                --set platens.hold="$hold" --set platens.friction="$platens" --set material.friction="$struts" \
                --set press.load_limit=none --set press.find_critical=no > "$work/table.txt"
            awk -v line="$coupon,$hold,$platens,$struts" '
                { value[$1] = $2 }
                END { print line "," value["force_10"] "," value["force_25"] "," value["force_50"] "," \
                      value["force_65"] "," value["energy_dissipated"] }' "$work/table.txt"
        done
    done
} > "$folder/friction.csv.tmp"
mv "$folder/friction.csv.tmp" "$folder/friction.csv"
cat "$folder/friction.csv"
