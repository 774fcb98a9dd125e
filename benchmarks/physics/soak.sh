#!/usr/bin/env bash
# Press coupons drawn at random to their end (soak.c): soak.sh SOAK CSV FOLDER SEED COUNT STRUTS [FIRST].
# One row is added to CSV for every run, so that the coupons of a seed can be pressed over many days: without FIRST the run goes on
# after the last coupon of this seed and size. Where a coupon is pressed again, after a correction, the later row counts. CSV ""
# keeps no rows. In the environment KIND says what is drawn: any (the default), time, flat or dense; LIMIT stops presses after that
# many seconds. Each coupon is a line of FOLDER/KIND-SEED-from-FIRST.csv.
set -uo pipefail
soak=$1 csv=$2 folder=$3 seed=$4 count=$5 struts=$6 first=${7:-} kind=${KIND:-any}
mkdir -p "$folder"
head=commit,kind,seed,first,coupons,struts,limit_s,seconds,ended_where_the_model_does,draws_refused,over_90_s,slowest,slowest_s,failed
row=()
if [ -n "$csv" ]; then
    [ -f "$csv" ] || echo $head > "$csv"
    row=(--row "$csv" --commit "$(git rev-parse --short HEAD 2> /dev/null || echo none)")
    [ -n "$first" ] || first=$(awk -F, -v kind="$kind" -v seed="$seed" -v struts="$struts" \
        'NR > 1 && $2 == kind && $3 == seed && $6 == struts && $4 + $5 > next_one { next_one = $4 + $5 } END { print next_one + 0 }' "$csv")
fi
first=${first:-0}
"$soak" --kind "$kind" ${LIMIT:+--seconds "$LIMIT"} --count "$count" --seed "$seed" --first "$first" --struts "$struts" --csv "$folder/$kind-$seed-from-$first.csv" \
    --refusals "$folder/refused-$kind-$seed-from-$first.csv" ${row[@]+"${row[@]}"}
code=$?
[ -n "$csv" ] || exit $code
awk -F, 'NR > 1 {
        group = $2 "," $3 "," $6
        for (i = $4; i < $4 + $5; i++) { key = group "," i; if (!(key in bad)) coupons[group]++; bad[key] = 0 }
        n = split($14, number, " ")
        for (k = 1; k <= n; k++) bad[group "," number[k]] = 1
        seconds += $8; slow += $11
    }
    END {
        for (key in bad) { split(key, part, ","); failed[part[1] "," part[2] "," part[3]] += bad[key]; if (bad[key]) all_failed++ }
        for (s in coupons) { split(s, part, ","); all += coupons[s]
            printf "  %-6s seed %-5d up to %-5d struts: %d coupons, %d failed\n", part[1], part[2], part[3], coupons[s], failed[s] | "sort" }
        close("sort")
        printf "soak: %d coupons in all, %d failed as of their last press, %d presses took over 90 s, %.1f h of processor time\n",
            all, all_failed, slow, seconds / 3600
    }' "$csv"
exit $code
