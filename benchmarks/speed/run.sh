#!/bin/bash
# Run the benchmark program given as first argument and write benchmarks/speed/results.csv (see benchmarks/README.md).
set -euo pipefail
program=$1
folder=$(cd "$(dirname "$0")" && pwd)
export OMP_NUM_THREADS=${OMP_NUM_THREADS:-1}

results=$folder/results.csv.tmp
{
    echo "# make bench    (OMP_NUM_THREADS=$OMP_NUM_THREADS)"
    echo "# $(git -C "$folder" rev-parse --short HEAD 2>/dev/null || echo 'no git')$(git -C "$folder" diff --quiet HEAD -- :/src :/include 2>/dev/null || echo ' with changes'), $(date -u +%Y-%m-%d)"
    "$program" header
    "$program" reference
    "$program" size
} > "$results"
mv "$results" "$folder/results.csv"

grep -v '^#' "$folder/results.csv" | cut -d, -f1-4,6-9,12-15,16,18- | column -s, -t 2>/dev/null || cat "$folder/results.csv"

# Find the slope of the logarithms by least squares, for the coupons of the size set that reached their strain, and per
# factorization, for all of them.
fit() {
    awk -F, -v per="$1" -v words="$2" '$1 == "size" && $8 > 0 && (per || $18 ~ /^target/) {
        x = log($4); y = log(per ? $8 / $13 : $8); n++; sx += x; sy += y; sxx += x * x; sxy += x * y
    } END {
        if (n > 2) printf "# %s ~ struts^%.2f over %d coupons\n", words, (n * sxy - sx * sy) / (n * sxx - sx * sx), n
    }' "$folder/results.csv"
}
{ fit 0 "seconds to 20 % strain"; fit 1 "seconds per factorization"; } > "$folder/fit.tmp"
cat "$folder/fit.tmp" | tee -a "$folder/results.csv"
rm "$folder/fit.tmp"
"$folder/speed.sh"
