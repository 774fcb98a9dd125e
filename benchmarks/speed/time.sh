#!/bin/bash
# Compare presses in time with a plain press of the same coupon: seconds of one core, least of ROUNDS (3), states and factorizations.
#   benchmarks/speed/time.sh PROGRAM OUT.csv
set -eu
program=$(realpath "$1") out=$(realpath -m "$2") rounds=${ROUNDS:-3}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
export OMP_NUM_THREADS=1
coupon='coupon: {width: 28 mm, height: 24 mm, depth: 20 mm}
infill: {pattern: square, density: 20 %}'
six='relaxation: {shares: [0.1, 0.1, 0.1, 0.1, 0.1, 0.1], times: [0.1 s, 1 s, 10 s, 100 s, 1000 s, 10000 s], reference: rest}'
write() { # name, material, press
    printf '%s\nmaterial: {law: neo-hookean, modulus: 30 MPa%s}\npress: {find_critical: no, %s}\n' "$coupon" "$2" "$3" > "$1.yaml"
}
write plain_25 "" "strain: 25 %"
write set_22_h ", $six" "protocol: compression set"
write plain_70 "" "strain: 70 %"
write in_time_70 ", $six" "strain: 70 %"
write four_cycles_70 ", $six" "protocol: three preloads and a measured cycle"
seconds() {
    for _ in $(seq "$rounds"); do
        { TIMEFORMAT=%U; time "$program" press --seeds 1 "$1.yaml" --quiet --out "$1" > /dev/null 2>&1; } 2>&1
    done | sort -n | head -1
}
echo "press,beside,seconds,ratio,states,factorizations,ratio_per_factorization" > "$out"
row() { # name, beside
    local mine other
    mine=$(seconds "$1") other=$(seconds "$2")
    paste -d, <(awk -F, 'NR > 1 {f += $16} END {print NR - 1 "," f}' "$1/curve.csv") <(awk -F, 'NR > 1 {f += $16} END {print f}' "$2/curve.csv") |
        awk -F, -v OFS=, -v a="$1" -v b="$2" -v m="$mine" -v o="$other" '{printf "%s,%s,%s,%.2f,%d,%d,%.2f\n", a, b, m, m / o, $1, $2, (m / $2) / (o / $3)}' >> "$out"
}
row set_22_h plain_25
row four_cycles_70 plain_70
row in_time_70 plain_70
cat "$out"
