#!/bin/bash
# What presses of random coupons cost:  benchmarks/speed/forecast.sh PROGRAMS CSV [COUPONS] [SECONDS]
# Coupons 0 .. COUPONS - 1 of the seeds 1 and 2 of soak.c; a press is stopped after SECONDS of processor time.
set -eu
programs=$1 csv=$2 coupons=${3:-60} seconds=${4:-12}
"$programs/forecast" --head > "$csv"
for seed in 1 2; do
    for ((i = 0; i < coupons; i++)); do
        settings=$("$programs/soak" --seed $seed --show $i | sed 's/--set//g')
        eval "$programs/forecast $seed-$i $seconds $settings" >> "$csv" || true # refused: its line says why
    done
done
"$programs/forecast" --fit "$csv"
