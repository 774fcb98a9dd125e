#!/usr/bin/env bash
# Run every libFuzzer target for long: long.sh CHECKED FAST CORPUS MINUTES CSV. One part in four of the time runs under
# AddressSanitizer with the checks for undefined behaviour (folder CHECKED of targets), the rest with those checks alone (FAST),
# which is three times as many inputs; both share one corpus, which stays, so that a later run goes on from it.
# CSV: one row is added for every target and build, with the findings; the sum over all rows is printed. FUZZ_JOBS at once.
# FUZZ_SHARES names other targets, or other parts of the time: FUZZ_SHARES="rig:2 mesh:1".
set -uo pipefail
checked=$1 fast=$2 corpus=$3 minutes=$4 csv=$5
cd "$(dirname "$0")/../.."
commit=$(git rev-parse --short HEAD 2> /dev/null || echo none)
mkdir -p "$corpus"
[ -f "$csv" ] || echo "commit,target,checks,seconds,inputs,found" > "$csv"
export checked fast corpus minutes csv commit

# These are parts of the time: a text reader takes about 30 us per input, a network 100 us, the store and spatial cells 2 ms.
shares=${FUZZ_SHARES:-case:3 plan:3 target:3 tested:3 table:3 rig:3 toolpath:3 network:3 package:3 store:3 cells:2 record:2 mesh:2 request:1}
total=$(tr ' ' '\n' <<< "$shares" | awk -F: '{ n += $2 } END { print n }')
export total

one() {
    local target=${1%:*} share=${1#*:} dictionary='' begin inputs found code run folder checks parts seconds
    [ -f "tests/fuzz/$target.dict" ] && dictionary=-dict=tests/fuzz/$target.dict
    case $target in case | plan | target | tested) dictionary=-dict=tests/fuzz/yaml.dict ;; esac
    mkdir -p "$corpus/$target" "$corpus/found"
    for run in "$checked:address and undefined:1" "$fast:undefined:3"; do
        IFS=: read -r folder checks parts <<< "$run"
        seconds=$((60 * minutes * share * parts / 4 / total))
        [ $seconds -gt 0 ] || seconds=1
        begin=$SECONDS
        # an input that takes seconds, or a file that grows, is a finding as well
        ASAN_OPTIONS=malloc_context_size=4:quarantine_size_mb=8 \
            "$folder/fuzz_$target" -max_total_time=$seconds -max_len=4096 -timeout=10 -rss_limit_mb=2048 -detect_leaks=0 \
            -print_final_stats=1 $dictionary -artifact_prefix="$corpus/found/$target-" \
            "$corpus/$target" "tests/fuzz/corpus/$target" > "$corpus/$target-$parts.log" 2>&1
        code=$?
        found=1
        [ $code = 0 ] || [ $code = 72 ] && found=0 # 72: interrupted, for example by Ctrl-C
        inputs=$(sed -n 's/^stat::number_of_executed_units: *//p' "$corpus/$target-$parts.log")
        echo "$commit,$target,$checks,$((SECONDS - begin)),${inputs:-0},$found" >> "$csv"
        [ $code != 72 ] || exit 255 # xargs begins no other
        [ $found = 0 ] || echo "fuzz $target: FOUND, input kept as $corpus/found/$target-*, log $corpus/$target-$parts.log"
    done
}
export -f one

tr ' ' '\n' <<< "$shares" | xargs -P "${FUZZ_JOBS:-$(nproc)}" -I{} bash -c 'one {}'
awk -F, 'NR > 1 { n[$2] += $5; all += $5; if ($3 ~ /address/) asan += $5; found += $6 }
    END { for (t in n) printf "  %-10s %12d inputs\n", t, n[t] | "sort"
          close("sort")
          printf "fuzz: %d inputs in all, %d of them under AddressSanitizer, %d findings\n", all, asan, found }' "$csv"
awk -F, -v commit="$commit" 'NR > 1 && $1 == commit && $6 { bad = 1 } END { exit bad }' "$csv"
