#!/usr/bin/env bash
# Coupons drawn at random, pressed to their end (soak.c): soak.sh SOAK CSV FOLDER SEED COUNT STRUTS [FIRST].
# One row is added to CSV for every run, so that the coupons of a seed can be pressed over many days: without FIRST the run goes on
# after the last coupon of this seed and size. A coupon that is pressed again, after a mend, counts as the later row has it. CSV ""
# keeps no rows. With PROTOCOLS=1 in the environment coupons are pressed in time, by protocols and drops. Each coupon is a line of FOLDER/seed-SEED.csv.
set -uo pipefail
soak=$1 csv=$2 folder=$3 seed=$4 count=$5 struts=$6 first=${7:-}
mkdir -p "$folder"
head=commit,seed,first,coupons,struts,limit_s,seconds,ended_where_the_model_does,draws_refused,over_90_s,slowest,slowest_s,failed
row=()
if [ -n "$csv" ]; then
    [ -f "$csv" ] || echo $head > "$csv"
    row=(--row "$csv" --commit "$(git rev-parse --short HEAD 2> /dev/null || echo none)")
    [ -n "$first" ] || first=$(awk -F, -v seed="$seed" -v struts="$struts" \
        'NR > 1 && $2 == seed && $5 == struts && $3 + $4 > next_one { next_one = $3 + $4 } END { print next_one + 0 }' "$csv")
fi
first=${first:-0}
"$soak" ${PROTOCOLS:+--protocols "$PROTOCOLS"} --count "$count" --seed "$seed" --first "$first" --struts "$struts" --csv "$folder/seed-$seed-from-$first.csv" \
    --refusals "$folder/refused-$seed-from-$first.csv" ${row[@]+"${row[@]}"}
code=$?
[ -n "$csv" ] || exit $code
awk -F, 'NR > 1 {
        for (i = $3; i < $3 + $4; i++) { key = $2 "," $5 "," i; if (!(key in bad)) coupons[$2 "," $5]++; bad[key] = 0 }
        n = split($13, number, " ")
        for (k = 1; k <= n; k++) bad[$2 "," $5 "," number[k]] = 1
        seconds += $7; slow += $10
    }
    END {
        for (key in bad) { split(key, part, ","); failed[part[1] "," part[2]] += bad[key]; if (bad[key]) all_failed++ }
        for (s in coupons) { split(s, part, ","); all += coupons[s]
            printf "  seed %-5d up to %-5d struts: %d coupons, %d failed\n", part[1], part[2], coupons[s], failed[s] | "sort" }
        close("sort")
        printf "soak: %d coupons in all, %d failed as of their last press, %d presses took over 90 s, %.1f h of processor time\n",
            all, all_failed, slow, seconds / 3600
    }' "$csv"
exit $code
