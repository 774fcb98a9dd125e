#!/bin/bash
# What the mesh changes: the two feet of the demo with the default mesh and with 8, 16 and 24 elements in every strut.
# usage: mesh.sh STRUTPRESS; writes mesh.csv beside this file.
set -euo pipefail
program=$1
folder=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
{
    echo "coupon,elements_per_strut,critical_force_N,plateau_stress_MPa,force_25_N,force_50_N,force_65_N"
    for coupon in foot-soft foot-firm; do
        for elements in 0 8 16 24; do
            "$program" press "$folder/../docs/demo/$coupon.yaml" --quiet --out "$work/out" \
                --set model.elements_per_strut=$elements > "$work/table.txt"
            awk -v line="$coupon,$elements" '
                { value[$1] = $2 }
                END { print line "," value["critical_force"] "," value["plateau_stress"] "," value["force_25"] "," \
                      value["force_50"] "," value["force_65"] }' "$work/table.txt"
        done
    done
} > "$folder/mesh.csv.tmp"
mv "$folder/mesh.csv.tmp" "$folder/mesh.csv"
cat "$folder/mesh.csv"
