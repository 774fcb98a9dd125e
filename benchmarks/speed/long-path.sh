#!/usr/bin/env bash
# Write a tool path of MB megabytes (200) into a folder that is removed afterwards, and measure what `check` takes for it:
#   long-path.sh PROGRAM [MB]
# Every layer has upright and level lines in short moves, until the file is long enough. Prints its size and the seconds and memory.
set -euo pipefail
program=$(realpath "${1:?usage: long-path.sh PROGRAM [MB]}") most=${2:-200}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$folder"
awk -v most="$most" 'BEGIN {
    print "G21\nG90\nM83" > "long.path"
    per = 0.4 * 0.2 / (3.14159265 * 1.75 * 1.75 / 4)
    for (i = 0; i < 44; i++) {
        up = i < 24; at = up ? 0.2 + i * 27.6 / 23 : 0.2 + (i - 24) * 23.6 / 19; end = up ? 23.8 : 27.8
        text = text sprintf(up ? "G0 X%.3f Y0.200\n" : "G0 X0.200 Y%.3f\n", at)
        for (k = 1; k <= 100; k++) {
            along = 0.2 + (end - 0.2) * k / 100
            text = text sprintf("G1 X%.3f Y%.3f E%.6f\n", up ? at : along, up ? along : at, (end - 0.2) / 100 * per)
        }
    }
    while (size < most * 1e6) {
        size += length(text)
        printf "G0 Z%.2f\n%s", 0.2 * ++layers, text > "long.path"
    }
    printf "coupon: {width: 28 mm, height: 24 mm, depth: %.2f mm}\n", 0.2 * layers > "long.yaml"
    print "infill: {pattern: printed, toolpath: long.path, filament_diameter: 1.75 mm}\nmaterial: {modulus: 30 MPa}" > "long.yaml"
}'
ls -s --block-size=MB long.path
TIMEFORMAT='%U s of a core, %R s'
time "$program" check long.yaml > table
grep '^tool path' table
