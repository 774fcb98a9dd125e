#!/bin/bash
# Press blocks of cells in space with the program given as first argument and write benchmarks/speed/cells.csv (see
# benchmarks/README.md). BENCH_CELLS: edges of the growing blocks, in cells.
set -euo pipefail
program=$1
strutpress=$2
folder=$(cd "$(dirname "$0")" && pwd)
edges=${BENCH_CELLS:-2 3 4 6 8 12 16 20 24}
patience=1800 # s, then a press is stopped; its line says how far it came
quiet=0.5     # load of the machine above which it is not idle
export OMP_NUM_THREADS=1

load() { cut -d' ' -f1 /proc/loadavg; }
busy() { awk -v load="$(load)" -v quiet="$quiet" 'BEGIN { exit !(load > quiet) }'; }

# A case of 60^3 cells must be refused at once.
refusal() {
    local case line
    case=$(mktemp --suffix .yaml)
    cat > "$case" <<YAML
coupon: {width: 300 mm, height: 300 mm, depth: 300 mm}
infill: {pattern: body-centred-cubic, cells: [60, 60, 60], strut_diameter: 0.6 mm}
YAML
    local begin=$EPOCHREALTIME
    line=$("$strutpress" press --seeds 1 "$case" --quiet --out "$case.out" 2>&1 > /dev/null || true)
    awk -v line="$line" -v s="$begin" -v e="$EPOCHREALTIME" 'BEGIN { printf "# 60^3 cells, after %.1f s: %s\n", e - s, line }'
    rm -rf "$case" "$case.out"
}

results=$folder/cells.csv.tmp
if busy; then note=" BUSY: other programs ran, seconds and GFLOP/s are too bad"; else note=""; fi
{
    echo "# make bench-cells"
    echo "# $(git -C "$folder" rev-parse --short HEAD 2> /dev/null || echo 'no git')$(git -C "$folder" diff --quiet HEAD -- :/src :/include 2> /dev/null || echo ' with changes'), $(date -u +%Y-%m-%d), load before $(load)$note"
    "$program" header
    for n in $edges; do
        "$program" size body-centred-cubic "$n" "2 %" 1 $patience infill.strut_diameter "0.6 mm" press.steps 4
    done
    for threads in 1 2 1 2; do # in turns
        OMP_NUM_THREADS=$threads "$program" threads body-centred-cubic 12 "2 %" $threads $patience infill.strut_diameter "0.6 mm" press.steps 4
    done
    for pattern in body-centred-cubic kelvin octet-truss; do
        "$program" whole $pattern 4 "60 %" 1 $patience infill.density "20 %"
    done
    refusal
    awk -v load="$(load)" 'BEGIN { print "# load after " load }'
} > "$results"
mv "$results" "$folder/cells.csv"

# Find the slopes of the logarithms by least squares over the growing blocks; the smallest ones measure only the start of the program.
fit() {
    awk -F, -v y="$1" -v x="$2" -v words="$3" '$1 == "size" && $3 > 3 && $y > 0 {
        a = log($x); b = log(y == 10 ? $y / $17 : $y); n++; sx += a; sy += b; sxx += a * a; sxy += a * b
    } END {
        if (n > 2) printf "# %s^%.2f over %d blocks\n", words, (n * sxy - sx * sy) / (n * sxx - sx * sx), n
    }' "$folder/cells.csv"
}
fits=$(
    fit 10 6 "seconds per factorization ~ unknowns"
    fit 10 3 "seconds per factorization ~ cells along an edge"
    fit 20 6 "memory ~ unknowns"
    fit 20 3 "memory ~ cells along an edge"
)
printf '%s\n' "$fits" | tee -a "$folder/cells.csv"
awk -F, '$1 == "threads" { if (!s[$5] || $10 < s[$5]) s[$5] = $10 } END {
    if (s[2] > 0) printf "# one large run on two threads / on one: %.2f times as fast\n", s[1] / s[2] }' "$folder/cells.csv" |
    tee -a "$folder/cells.csv"
column -s, -t < <(grep -v '^#' "$folder/cells.csv") 2> /dev/null || cat "$folder/cells.csv"
"$folder/speed.sh" > /dev/null
