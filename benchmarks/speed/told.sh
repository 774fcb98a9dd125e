#!/bin/bash
# Compare what `check` foretells with what a press takes, for random presses in time and of parts that lie flat:
#   benchmarks/speed/told.sh PROGRAMS CSV [COUPONS] [SECONDS]
# Coupons 0 .. COUPONS - 1 of the kinds `time` and `flat` of soak.c, seed 1, of at most 150 struts, one flaw seed, one thread. A press
# that takes longer than SECONDS of processor time is stopped and has no row. The last lines say between which factors they lie.
set -eu
programs=$(realpath "$1") csv=$(realpath -m "$2") coupons=${3:-30} seconds=${4:-100}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
export OMP_NUM_THREADS=1 TIMEFORMAT=%U
printf 'flaws: {seed: 1}\n' > case.yaml

foretold() { # SETTINGS: seconds that check foretells
    eval "$programs/strutpress check case.yaml $1 --format csv" 2> /dev/null | sed -n 's/^"forecast","seconds",\([^,]*\),.*/\1/p'
}

{
    echo kind,coupon,told,took,share
    for kind in time flat; do
        for ((i = 0; i < coupons; i++)); do
            settings=$("$programs/soak" --kind $kind --seed 1 --struts 150 --show "$i") || continue
            told=$(foretold "$settings")
            [ -n "$told" ] || continue
            took=$({ time (ulimit -t "$seconds" && eval "$programs/strutpress press case.yaml $settings --seeds 1 --quiet --out out" \
                > /dev/null 2>&1) && echo 1 > done; } 2>&1 || true)
            [ -e done ] && awk -v k=$kind -v i="$i" -v t="$told" -v s="$took" 'BEGIN { printf "%s,%d,%.3g,%.3g,%.3g\n", k, i, t, s, s/t }'
            rm -rf done out
        done
    done
} > "$csv.new"
for kind in time flat; do
    shares=$(sed -n "s/^$kind,.*,//p" "$csv.new" | sort -g)
    count=$(wc -l <<< "$shares")
    at() { sed -n "$(awk -v n="$count" -v q="$1" 'BEGIN { print int(1 + q * (n - 1) + 0.5) }')p" <<< "$shares"; }
    echo "# $kind: $count presses took $(at 0.05) to $(at 0.95) times what was foretold, nine of ten of them; $(at 0.5) in the middle" | tee -a "$csv.new"
done
mv "$csv.new" "$csv"
