#!/bin/bash
# Record presses of random coupons, and judge the time left that the program showed:  benchmarks/speed/left.sh PROGRAMS CSV [COUPONS] [SECONDS]
# Coupons 0 .. COUPONS - 1 of the seeds 1 and 2 of soak.c: each unchanged, coarsely (a quarter of the steps, at least 20, and two
# elements a strut), and with another seed of its flaws. A press that takes longer than SECONDS of processor time is left out.
# It runs one press at a time, which takes half an hour on an idle core.
set -eu
programs=$1 csv=$2 coupons=${3:-40} seconds=${4:-20}
export OMP_NUM_THREADS=1

record() { # NAME SETTINGS [MORE]
    eval "$programs/left $1 $seconds $2 ${3-}" || true
}

for seed in 1 2; do
    for ((i = 0; i < coupons; i++)); do
        settings=$("$programs/soak" --seed "$seed" --show "$i" | sed 's/--set//g')
        steps=$(sed "s/.*press.steps=\([0-9]*\).*/\1/" <<< "$settings")
        if ((steps > 80)); then coarse=$((steps / 4)); else coarse=$((steps > 20 ? 20 : steps)); fi
        record "$seed-$i" "$settings"
        record "t-$seed-$i" "$settings" "model.elements_per_strut=2 press.steps=$coarse"
        record "$seed-$i-b" "$settings" "press.find_critical=no flaws.seed=77"
    done
done > "$csv"
"$programs/left" --judge "$csv"
