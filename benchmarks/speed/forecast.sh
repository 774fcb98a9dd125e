#!/bin/bash
# Measure what presses of random coupons cost, in full and coarsely:  benchmarks/speed/forecast.sh PROGRAMS CSV HEADER [COUPONS] [SECONDS]
# Coupons 0 .. COUPONS - 1 of the seeds 1 and 2 of soak.c; a press is stopped after SECONDS of processor time.
# HEADER gets the coefficients with which the program is built next (src/result/run/forecast.h).
# It presses as many coupons at once as there are cores, which takes a quarter of an hour on two. Times are of the processor.
set -eu
programs=$1 csv=$2 header=$3 coupons=${4:-40} seconds=${5:-20}
rows=$(mktemp -d)
trap 'rm -rf "$rows"' EXIT
export programs seconds rows OMP_NUM_THREADS=1

one() { # SEED-NUMBER; a coupon that is refused says why, and has no row
    local settings
    settings=$("$programs/soak" --seed "${1%-*}" --show "${1#*-}" | sed 's/--set//g')
    eval "$programs/forecast $1 $seconds $settings" > "$rows/$1" || true
}
export -f one

names=$(for seed in 1 2; do for ((i = 0; i < coupons; i++)); do echo "$seed-$i"; done; done)
xargs -P "$(nproc)" -I{} bash -c 'one {}' <<< "$names"
{ "$programs/forecast" --head; for name in $names; do cat "$rows/$name"; done; } > "$csv"
"$programs/forecast" --fit "$csv" "$header"
