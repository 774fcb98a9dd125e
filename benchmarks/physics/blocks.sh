#!/bin/bash
# Press blocks of every spatial pattern into a store and check that each reaches the strain of the plan. Coupons that the store
# already holds are not pressed again. Writes CSV: one line per coupon; fails when a coupon is missing or ended early.
# usage: blocks.sh STRUTPRESS PLAN STORE CSV
set -euo pipefail
program=$1 plan=$2 store=$3 csv=$4
mkdir -p "$(dirname "$store")"
wanted=$("$program" batch "$plan" --store "$store" | tee /dev/stderr | awk '$1 == "plan" { print $2 }')

# The dump leaves out seconds, which change from run to run.
sqlite3 -separator ' ' "$store" 'SELECT key, seconds FROM coupon' > "$csv.seconds"
"$program" compare "$store" --dump | awk -v seconds="$csv.seconds" '
    BEGIN { while ((getline line < seconds) > 0) { split(line, word, " "); took[word[1]] = word[2] } }
    function end_coupon() {
        if (key == "") return
        reached = value["final_strain"] + 0 >= strain * (1 - 1e-4)
        stop = reached ? "strain reached" : reason
        gsub(/,/, ";", stop)
        printf "%s,%g,%d,%s,%s,%s,%.1f\n", pattern, density, seed, stop, value["force_25"], value["force_50"], took[key]
        delete value
    }
    $1 == "coupon" { end_coupon(); key = $2; reason = "" }
    $1 == "infill.pattern" { pattern = $2 }
    $1 == "infill.density" { density = $2 }
    $1 == "flaws.seed" { seed = $2 }
    $1 == "press.strain" { strain = $2 }
    $1 == "reason" { reason = $0; sub(/^reason /, "", reason) }
    $1 == "measure" { value[$2] = $3 == "-" ? "" : sprintf("%.4g", $3) }
    END { end_coupon() }' | LC_ALL=C sort -t, -k1,1 -k2,2g -k3,3n > "$csv.rows"

{ echo "pattern,density,seed,stop,force_25_N,force_50_N,seconds"; cat "$csv.rows"; } > "$csv.tmp"
reached=$(grep -c ',strain reached,' "$csv.rows" || true)
rm "$csv.seconds" "$csv.rows"
mv "$csv.tmp" "$csv"
echo "$reached of $wanted coupons reached the strain of the plan: $csv"
grep -v ',strain reached,' "$csv" | sed 1d
[ "$reached" = "$wanted" ]
