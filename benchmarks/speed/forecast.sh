#!/bin/bash
# What presses of random coupons cost, in full and coarsely:  benchmarks/speed/forecast.sh PROGRAMS CSV HEADER [COUPONS] [SECONDS]
# Coupons 0 .. COUPONS - 1 of the seeds 1 and 2 of soak.c; a press is stopped after SECONDS of processor time.
# HEADER gets the coefficients that the program is built with next (src/result/run/forecast.h).
set -eu
programs=$1 csv=$2 header=$3 coupons=${4:-60} seconds=${5:-20}
"$programs/forecast" --head > "$csv"
for seed in 1 2; do
    for ((i = 0; i < coupons; i++)); do
        settings=$("$programs/soak" --seed $seed --show $i | sed 's/--set//g')
        eval "$programs/forecast $seed-$i $seconds $settings" >> "$csv" || true # refused: its line says why
    done
done
"$programs/forecast" --fit "$csv" "$header"
