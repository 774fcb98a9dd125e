#!/bin/bash
# Fits both open blocks (pa12-tested.yaml, resin-tested.yaml), presses the committed fitted cases beside their specimens, and predicts
# blocks of other diameters: the tables in docs/measured.md.   usage: fitted.sh STRUTPRESS [STORES [pa12|resin|tried]]
# STORES is a folder that keeps the presses of the fits, so that a second run goes on where the first ended. The last word names the one
# block to be done again, or `tried` for the settings that were tried beside the fitted values of PA12.
# The misfit is the root mean square of the prediction less the mean of the specimens, over the mean force, at 150 shortenings.
set -euo pipefail
program=$(realpath "$1")
folder=$(cd "$(dirname "$0")" && pwd)
data=$folder/../../tests/data/beam_lattices
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
stores=${2:-$work}
blocks=${3:-pa12 resin tried}
parts="0.1 0.2 0.4 0.6 0.8 1" # of the way, at which prediction over mean is reported
page=$folder/../../docs/measured.md

# loading FILE COLUMN COLUMN: shortening and force of one specimen while it is loaded
loading() {
    awk -v u="$2" -v f="$3" 'NR > 1 && NF >= f && ($u > most || NR == 2) { most = $u; print $u, $f }' "$1"
}

# row NAME CASE SPECIMENS TO SEEDS [SETTING...]: the prediction is the mean over the seeds of the flaws
row() {
    local name=$1 case=$2 specimens=$3 to=$4 seeds=$5 settings=() mine=()
    shift 5
    for s in "$@"; do settings+=(--set "$s"); done
    for seed in $seeds; do
        "$program" press --seeds 1 "$data/$case" --out "$work/out" --set "flaws.seed=$seed" "${settings[@]}" > /dev/null 2> "$work/said" ||
            { cat "$work/said" >&2; exit 1; }
        awk -F, 'NR > 1 { print $2, $3 }' "$work/out/curve.csv" > "$work/curve$seed"
        mine+=("$work/curve$seed")
    done
    awk -v parts="$parts" -v name="$name" -v to="$to" -v specimens="$specimens" -v mine="${mine[*]}" '
        function at(file, x,    i) {
            for (i = 2; i < count[file] && u[file, i] < x; i++);
            return f[file, i-1] + (x - u[file, i-1]) / (u[file, i] - u[file, i-1]) * (f[file, i] - f[file, i-1])
        }
        function mean(names, x,    list, n, k, sum) {
            n = split(names, list, " ")
            for (k = 1; k <= n; k++) sum += at(list[k], x) / n
            return sum
        }
        FNR == 1 { file = FILENAME }
        { count[file]++; u[file, count[file]] = $1; f[file, count[file]] = $2 }
        END {
            for (i = 1; i <= 150; i++) {
                x = to * i / 150; m = mean(specimens, x); d = mean(mine, x) - m; square += d * d / 150; all += m / 150
            }
            printf "| %s | %.0f %% |", name, 100 * sqrt(square) / all
            split(parts, part, " ")
            for (i = 1; i <= 6; i++) { x = part[i] * to; printf " %.2f |", mean(mine, x) / mean(specimens, x) }
            printf "\n"
        }' "${mine[@]}" $specimens
}

for k in 1 2 3; do loading "$data/press/asu_bcc_d12_exp.txt" $((2 * k - 1)) $((2 * k)) > "$work/p$k"; done
loading "$data/resin/press/msla_bcc_test_r0375_L3.txt" 2 3 > "$work/slow"
loading "$data/resin/press/msla_bcc_test_r375_L1.txt" 2 3 > "$work/fast1"
loading "$data/resin/press/msla_bcc_test_r375_L2.txt" 2 3 > "$work/fast2"
pa12="$work/p1 $work/p2 $work/p3" fast="$work/fast1 $work/fast2"
pa12_rows() {
    row "PA12 to 50 % strain, as described" body_centred_block.yaml "$pa12" 29.9 1 "press.strain=51 %"
    row "PA12, ends 1.4 times as thick over 2 diameters" body_centred_block.yaml "$pa12" 29.9 1 "press.strain=51 %" joint.thickening=1.4
    row "PA12, fitted" pa12_fitted.yaml "$pa12" 29.9 "1 2 3"
}
resin_rows() {
    row "resin to 15 % strain, 0.375 mm/min, as described" resin_block.yaml "$work/slow" 4.49 1
    row "resin, 3.75 mm/min, as described" resin_block.yaml "$fast" 4.49 1 "press.speed=3.75 mm/min"
    row "resin, 0.375 mm/min, fitted" resin_fitted.yaml "$work/slow" 4.49 1
    row "resin, 3.75 mm/min, fitted" resin_fitted.yaml "$fast" 4.49 1 "press.speed=3.75 mm/min"
}
# One row of the table of what was tried: PA12, fitted, with other settings.
tried() {
    local name=$1 seeds=$2
    shift 2
    row "$name" pa12_fitted.yaml "$pa12" 29.9 "$seeds" "$@"
}
if [[ " $blocks " == *" tried "* ]]; then
    parts="0.1 0.301 0.435 0.602 0.836 1" # 3, 9, 13, 18, 25 and 29.9 mm
    even=(flaws.thickness_scatter=0 flaws.joint_offset=0)
    {
        echo "| | misfit | at 3 mm | 9 mm | 13 mm | 18 mm | 25 mm | 29.9 mm |"
        echo "|---|---|---|---|---|---|---|---|"
        tried "fitted" "1 2 3"
        tried "mean of six seeds" "1 2 3 4 5 6"
        tried "rows differ by 6 %" "1 2 3" "flaws.row_scatter=6 %"
        tried "rows differ by 14 %" "1 2 3" "flaws.row_scatter=14 %"
        tried "ends 1.5 times as thick" "1 2 3" joint.thickening=1.5
        tried "all struts of a row alike, joints as drawn" "1 2 3" "${even[@]}"
        tried "the same, ends 1.5 times as thick" "1 2 3" "${even[@]}" joint.thickening=1.5
        tried "struts 0.05 mm thicker, ends 1.2 times, rows 12 %" "1 2 3" "infill.diameter_offset=0.05 mm" joint.thickening=1.2 "flaws.row_scatter=12 %"
        tried "struts 0.05 mm thinner, ends 1.6 times, rows 12 %" "1 2 3" "infill.diameter_offset=-0.05 mm" joint.thickening=1.6 "flaws.row_scatter=12 %"
        tried "tension curve at 1e-1 /s, ends 1.3 times" "1 2 3" material.rate=1e-1 joint.thickening=1.3
        tried "friction 0.4 between struts and on platens" "1 2 3" material.friction=0.4 platens.friction=0.4
        tried "ends 1.6 times as thick over 1.5 diameters" "1 2 3" joint.thickening=1.6 joint.thickening_length=1.5
        tried "16 elements a strut" "1 2 3" model.elements_per_strut=16
        tried "16 elements a strut, ends 1.5 times as thick" "1 2 3" model.elements_per_strut=16 joint.thickening=1.5
    } > "$work/tried.md"
    cat "$work/tried.md"
    "$folder/../fill.sh" "fitted tried" "$work/tried.md" "$page"
    blocks=${blocks/tried/}
    parts="0.1 0.2 0.4 0.6 0.8 1"
fi

for block in $blocks; do
    {
        echo "| | misfit | at 10 % of the way | 20 % | 40 % | 60 % | 80 % | 100 % |"
        echo "|---|---|---|---|---|---|---|---|"
        "${block}_rows"
    } > "$work/fitted.md"
    cat "$work/fitted.md"
    "$folder/../fill.sh" "fitted $block" "$work/fitted.md" "$page"
done

# what calibrate says: fitted values, misfit, predictions with their bands
for block in $blocks; do
    {
        "$program" calibrate "$folder/$block-tested.yaml" --quiet --out "$work/$block" --store "$stores/$block.store" > "$work/$block.txt" 2> "$work/said" || {
            cat "$work/said" >&2
            exit 1
        }
        echo "$block, fitted to struts of 1.2 mm alone:"
        echo
        echo '```'
        grep -E '^(material|joint|infill|flaws)[.]|^misfit|^apart|^ranges' "$work/$block.txt"
        echo '```'
        echo
        echo "| $block, predicted | force at 10 % | at 25 % | at 50 % | work |"
        echo "|---|---|---|---|---|"
        awk -F, '$2 == "predicted" {
            gsub(/"/, "", $1)
            if ($1 != name) { if (name != "") print line; name = $1; line = "| " $1 " |" }
            if ($6 == "") line = line " - |"; else line = line sprintf(" %.3g +- %.3g %s |", $6, $8, $4)
        } END { print line }' "$work/$block/calibrate.csv"
        echo
    } > "$work/predicted.md"
    cat "$work/predicted.md"
    "$folder/../fill.sh" "predicted $block" "$work/predicted.md" "$page"
done
