#!/bin/bash
# Run the benchmark of the batch and write benchmarks/speed/batch.csv:  benchmarks/speed/batch.sh PROGRAM ROUNDS   (benchmarks/README.md)
set -euo pipefail
program=$1
rounds=$2
folder=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d "$(dirname "$program")/batch.XXXXXX")
trap 'rm -rf "$work"' EXIT
unset OMP_NUM_THREADS # two threads are asked for by number

results=$folder/batch.csv.tmp
load() { cut -d' ' -f1-3 /proc/loadavg; }
before=$(load)
{
    echo "# make bench-batch BENCH_ROUNDS=$rounds"
    echo "# $(git -C "$folder" rev-parse --short HEAD 2>/dev/null || echo 'no git')$(git -C "$folder" diff --quiet HEAD -- :/src :/include 2>/dev/null || echo ' with changes'), $(date -u +%Y-%m-%d), $(nproc) cores, load before $before"
    "$program" header
    "$program" batch "$folder/mixed-plan.yaml" "$work" "$rounds"
    "$program" compare "$work" 100000
} > "$results"

# The fastest run of each kind is the one that was disturbed least; the ratios of the rounds show how much they scatter.
awk -F, '
    function keep(kind) { if (!(kind in best) || $6 < best[kind]) best[kind] = $6 }
    $1 == "batch" {
        kind = $4 > 1 ? "processes" : $3 > 1 ? "threads" : "one"
        keep(kind); seconds[kind, $2] = $6; if ($2 > rounds) rounds = $2
        if (kind == "one") { share = 100 * $8 / $6; if (share > store) store = share; cpu1 += $7 }
        if (kind == "threads") cpu2 += $7
        coupons[kind] = $5
    }
    $1 == "compare" { keep("compare") }
    END {
        printf "# %.1f coupons per minute with one thread, %.1f with two\n", 60 * coupons["one"] / best["one"], 60 * coupons["threads"] / best["threads"]
        printf "# two threads / one: %.3f (wanted: at least 1.9); rounds:", best["one"] / best["threads"]
        for (r = 1; r <= rounds; r++) printf " %.3f", seconds["one", r] / seconds["threads", r]
        printf "\n# two processes / one: %.3f; rounds:", best["one"] / best["processes"]
        for (r = 1; r <= rounds; r++) printf " %.3f", seconds["one", r] / seconds["processes", r]
        printf "\n# processor time of two threads / of one: %.3f (1: they share nothing)\n", cpu2 / cpu1
        printf "# store: %.3f %% of a run (wanted: below 1)\n", store
        printf "# 100000 coupons compared in %.2f s (wanted: below 2)\n", best["compare"]
    }' "$results" >> "$results.end"
echo "# load after $(load)" >> "$results.end"
cat "$results.end" >> "$results"
rm "$results.end"
mv "$results" "$folder/batch.csv"
cat "$folder/batch.csv"
"$folder/speed.sh"
