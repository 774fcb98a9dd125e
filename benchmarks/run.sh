#!/bin/bash
# Run the benchmark program given as first argument and write benchmarks/results.csv (see README.md beside this file).
set -euo pipefail
program=$1
folder=$(cd "$(dirname "$0")" && pwd)
export OMP_NUM_THREADS=${OMP_NUM_THREADS:-1}

results=$folder/results.csv.tmp
{
    echo "# make bench    (OMP_NUM_THREADS=$OMP_NUM_THREADS)"
    echo "# $(git -C "$folder" rev-parse --short HEAD 2>/dev/null || echo 'no git')$(git -C "$folder" diff --quiet HEAD -- src include 2>/dev/null || echo ' with changes'), $(date -u +%Y-%m-%d), $(sed -n 's/^model name[^:]*: //p;T;q' /proc/cpuinfo), $(nproc) cores"
    "$program" header
    "$program" reference
    "$program" size
} > "$results"
mv "$results" "$folder/results.csv"

column -s, -t < <(grep -v '^#' "$folder/results.csv" | cut -d, -f1-4,6-8,11-14,17) 2>/dev/null || cat "$folder/results.csv"

# Least squares on the logarithms: seconds per factorization-free unit of work would hide retries, so plain seconds.
awk -F, '$1 == "size" && $4 > 0 && $8 > 0 {
    x = log($4); y = log($8); n++; sx += x; sy += y; sxx += x * x; sxy += x * y
} END {
    if (n > 2) printf "seconds ~ struts^%.2f over %d coupons\n", (n * sxy - sx * sy) / (n * sxx - sx * sx), n
}' "$folder/results.csv"
