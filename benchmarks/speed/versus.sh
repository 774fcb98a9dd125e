#!/bin/bash
# Compare this tree with an older commit, in one run: medians of VERSUS_ROUNDS (5) in turns, in seconds of the processor (user and
# system), which hold on a busy machine; for threads, in seconds on the wall.
# usage: versus.sh COMMIT PROGRAM-OF-THIS-TREE; writes versus.csv and mesh_versus.csv beside this file, and lines of README.md.
# VERSUS_SETS: some of "reference mixed cells threads law mesh"; rows of versus.csv that are not measured again stay. VERSUS_CELLS:
# some of the patterns of cells.
set -euo pipefail
commit=$1 new=$2
folder=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$folder/../.." && pwd)
rounds=${VERSUS_ROUNDS:-5}
sets=${VERSUS_SETS:-reference mixed cells threads law mesh}
work=$(mktemp -d)
trap 'git -C "$root" worktree remove --force "$work/old" 2> /dev/null || true; rm -rf "$work"' EXIT

# Build the older library from its commit, with the program of this tree on top.
git -C "$root" worktree add --quiet --detach "$work/old" "$commit"
make -C "$work/old" --no-print-directory -s -j"$(nproc)" build/release/libstrutpress.a > /dev/null
libraries=$(sed -n 's/^LDLIBS := //p' "$work/old/Makefile")
old=$work/versus
# shellcheck disable=SC2086 # several libraries
gcc -std=c17 -O2 -D_GNU_SOURCE -I"$work/old/include" "$folder/versus.c" "$work/old/build/release/libstrutpress.a" -fopenmp $libraries -o "$old"

foot=(coupon.width "28 mm" coupon.height "24 mm" coupon.depth "20 mm" bead.width "0.42 mm" bead.walls 2
    material.law neo-hookean material.modulus "30 MPa" press.find_critical no)
square=("${foot[@]}" infill.pattern square infill.angle "45 deg" platens.hold bonded flaws.seed 1
    press.strain "70 %" press.load_limit "6000 N")

# cells PATTERN EDGE STRAIN KEY VALUE...: a block of cells of 5 mm.
cells() {
    local pattern=$1 edge=$2 strain=$3
    shift 3
    case_of=(coupon.width "$((5 * edge)) mm" coupon.height "$((5 * edge)) mm" coupon.depth "$((5 * edge)) mm"
        infill.pattern "$pattern" infill.cells "[$edge, $edge, $edge]" press.strain "$strain" press.load_limit none
        press.find_critical no flaws.seed 1 "$@")
}

median() { sort -g | awk '{ v[NR] = $1 } END { print v[int((NR + 1) / 2)] }'; }

# Sum fields of the lines of a file, then take the median of all lines.
median_of() { awk -F, -v f="$2" '{ n = split(f, at, "+"); s = 0; for (i = 1; i <= n; i++) s += $at[i]; print s }' "$1" | median; }

# compare SET NAME FIELDS WANTED [THREADS-OF-OLD THREADS-OF-NEW OLD NEW]: presses the case in case_of, with both programs in turns.
compare() {
    local set=$1 name=$2 fields=$3 wanted=$4 threads_old=${5:-1} threads_new=${6:-1} one=${7:-$old} two=${8:-$new}
    rm -f "$work/one" "$work/two"
    for ((round = 0; round < rounds; round++)); do
        OMP_NUM_THREADS=$threads_old "$one" "${case_of[@]}" >> "$work/one"
        OMP_NUM_THREADS=$threads_new "$two" "${case_of[@]}" "${more[@]}" >> "$work/two"
    done
    local a b
    a=$(median_of "$work/one" "$fields") b=$(median_of "$work/two" "$fields")
    awk -v set="$set" -v name="$name" -v a="$a" -v b="$b" -v wanted="$wanted" -v m="$(median_of "$work/one" 8)" -v n="$(median_of "$work/two" 8)" \
        'BEGIN { printf "%s,%s,%.3f,%.3f,%.2f,%s,%.1f,%.1f,", set, name, a, b, a / b, wanted, m, n }' | tee -a "$results"
    how | tee -a "$results"
}

# Say how a row was measured: rounds, day, present load of the machine.
how() { echo "$rounds,$(date -u +%Y-%m-%d),$(cut -d' ' -f1 /proc/loadavg)"; }

more=()

results=$folder/versus.csv.tmp
{
    echo "# make bench-versus OLD=$commit"
    echo "set,coupon,seconds_old,seconds_new,old_by_new,wanted,peak_MB_old,peak_MB_new,rounds,day,load"
} | tee "$results"
has() { [[ " $sets " == *" $1 "* ]]; }

if has reference; then
    for density in 12 20 28 45; do
        case_of=("${square[@]}" infill.density "$density %")
        compare reference "square $density %" 1+2 3
    done
fi
if has mixed; then # the 60 coupons of mixed-plan.yaml, in one process each, summed over a round
    rm -f "$work/mixed"
    for ((round = 0; round < rounds; round++)); do
        for side in old new; do
            program=${!side}
            for pattern in square:45 triangular:0 hexagonal:0 kagome:0 bricks:0 voronoi:0; do
                for density in 10 12 14 16 18; do
                    for seed in 1 2; do
                        OMP_NUM_THREADS=1 "$program" "${foot[@]}" infill.pattern "${pattern%:*}" infill.angle "${pattern#*:} deg" infill.density "$density %" \
                            flaws.seed $seed press.strain "60 %" press.steps 60 press.load_limit none | sed "s/^/$side,$round,/"
                    done
                done
            done
        done
    done > "$work/mixed"
    for side in old new; do
        awk -F, -v side=$side '$1 == side { s[$2] += $3 + $4; if ($10 > m) m = $10 } END { for (r in s) print s[r] "," m }' "$work/mixed" > "$work/$side.sum"
    done
    awk -v a="$(median_of "$work/old.sum" 1)" -v b="$(median_of "$work/new.sum" 1)" -v m="$(median_of "$work/old.sum" 2)" -v n="$(median_of "$work/new.sum" 2)" \
        'BEGIN { printf "mixed,60 coupons,%.3f,%.3f,%.2f,3,%.1f,%.1f,", a, b, a / b, m, n }' | tee -a "$results"
    how | tee -a "$results"
fi
if has cells; then
    for pattern in ${VERSUS_CELLS:-body-centred-cubic kelvin octet-truss}; do
        cells "$pattern" 4 "60 %" infill.density "20 %"
        compare cells "$pattern 4^3" 1+2 2.5
    done
fi
if has threads; then # one thread against two, both of this tree: seconds on the wall
    for edge in ${VERSUS_EDGES:-12 20}; do
        cells body-centred-cubic "$edge" "2 %" infill.strut_diameter "0.6 mm" press.steps 4
        rounds=${VERSUS_LARGE_ROUNDS:-$rounds} compare threads "body-centred-cubic $edge^3 on 1 and 2" 3 1.7 1 2 "$new" "$new"
    done
fi
if has law; then # neo-Hookean against a tabulated law that yields, both of this tree
    case_of=("${square[@]}" infill.density "28 %")
    # The rows of the yielding law start straight and then bend: their true stress rises ever more slowly.
    printf 'strain,stress_MPa\n0.02,0.6\n0.05,1.42\n0.1,2.6\n0.2,4.3\n0.4,6.6\n0.8,10\n1.5,16\n' > "$work/tabulated.csv"
    printf 'strain,stress_MPa\n0.02,0.6\n0.05,1.38\n0.1,2.35\n0.2,3.4\n0.4,4.2\n0.8,4.6\n' > "$work/yielding.csv"
    for law in tabulated yielding; do
        more=(material.law $law material.table "$work/$law.csv")
        compare law "28 % $law beside neo-Hookean" 1+2 "1/1.3" 1 1 "$new" "$new"
    done
    more=()
fi
if has mesh; then # default mesh against 24 elements a strut, medians over five flaw seeds
    columns="10 11 12 13 14" names=(force_10 force_25 force_50 force_65 plateau)
    mesh_results=$folder/mesh_versus.csv
    echo "coupon,figure,old_default,new_default,new_24,old_off,new_off" > "$mesh_results"
    one_mesh() { # NAME ELEMENTS: the case in case_of
        local name=$1 fine=$2 column k=0
        rm -f "$work"/mesh.*
        for seed in 1 2 3 4 5; do
            OMP_NUM_THREADS=1 "$old" "${case_of[@]}" flaws.seed $seed >> "$work/mesh.old"
            OMP_NUM_THREADS=1 "$new" "${case_of[@]}" flaws.seed $seed >> "$work/mesh.new"
            OMP_NUM_THREADS=1 "$new" "${case_of[@]}" flaws.seed $seed model.elements_per_strut "$fine" >> "$work/mesh.fine"
        done
        for column in $columns; do
            awk -v name="$name" -v figure="${names[$k]}" -v a="$(median_of "$work/mesh.old" "$column")" -v b="$(median_of "$work/mesh.new" "$column")" -v c="$(median_of "$work/mesh.fine" "$column")" \
                'BEGIN { if (c > 0) printf "%s,%s,%s,%s,%s,%.3f,%.3f\n", name, figure, a, b, c, a / c - 1, b / c - 1 }' | tee -a "$mesh_results"
            k=$((k + 1))
        done
    }
    for coupon in square:45:12 triangular:0:28; do
        IFS=: read -r pattern angle density <<< "$coupon"
        case_of=("${foot[@]}" infill.pattern "$pattern" infill.angle "$angle deg" infill.density "$density %" platens.hold bonded press.strain "66 %" press.load_limit none)
        one_mesh "$pattern $density %" 24
    done
    for pattern in body-centred-cubic kelvin octet-truss; do
        cells "$pattern" 2 "60 %" infill.density "20 %"
        one_mesh "$pattern 2^3" "${VERSUS_FINE_CELLS:-12}"
    done
fi
# Rows that were not measured again follow.
awk -F, 'NR == FNR { new[$1 "," $2] = 1; next } NF > 10 && !(($1 "," $2) in new)' "$results" "$folder/versus.csv" > "$work/kept"
cat "$work/kept" >> "$results"
mv "$results" "$folder/versus.csv"

lines=$(mktemp)
{
    echo '```'
    awk -F, '$1 == "law" { printf "%-36s %8.2f s beside %8.2f s: %.2f times as long (wanted at most 1.3), %s round%s\n", $2, $4, $3, $4 / $3, $9, $9 == 1 ? "" : "s"; next }
        $1 == "threads" { printf "%-36s %8.2f s beside %8.2f s: %.2f times as fast (wanted %s), %s round%s\n", $2, $4, $3, $5, $6, $9, $9 == 1 ? "" : "s"; next }
        $3 + 0 > 0 { printf "%-36s %8.2f s, before %8.2f s: %.2f times as fast (wanted %s), %s round%s\n", $2, $4, $3, $5, $6, $9, $9 == 1 ? "" : "s" }' "$folder/versus.csv"
    echo '```'
} > "$lines"
"$folder/../fill.sh" versus "$lines"
rm -f "$lines"
