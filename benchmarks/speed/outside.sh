#!/bin/bash
# What a press of the 28 % reference coupon spends outside arithmetic, on one thread: shares of the samples of `perf record`, then the
# calls of the kernel that `strace` counts. Shares hold on a busy machine, but for the kernel's, which also switches to other programs there.
# usage: outside.sh VERSUS-PROGRAM
set -euo pipefail
program=$1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export OMP_NUM_THREADS=1
press=("$program" coupon.width "28 mm" coupon.height "24 mm" coupon.depth "20 mm" bead.width "0.42 mm" bead.walls 2
    material.law neo-hookean material.modulus "30 MPa" press.find_critical no infill.pattern square infill.angle "45 deg"
    infill.density "28 %" platens.hold bonded flaws.seed 1 press.strain "70 %" press.load_limit "6000 N")

perf record -q -F 2000 -o "$work/data" "${press[@]}" > "$work/line"
# Columns of the report: share, library, [k] or [.] and the symbol.
perf report -i "$work/data" --stdio -s dso,symbol 2> /dev/null | awk '
    function part_of(library, kind, symbol) {
        if (kind == "[k]" || library ~ /kernel/) return "kernel"
        if (library ~ /gomp/) return "OpenMP"
        if (library ~ /ld-linux/) return "loader"
        if (library !~ /^libc[.]/) return "arithmetic"
        if (symbol ~ /mem(set|move|cpy)/) return "memset and memmove"
        if (symbol ~ /alloc|free|unlink_chunk|madvise/) return "malloc"
        return "arithmetic"
    }
    $1 ~ /%$/ { share[part_of($2, $3, $4)] += $1 }
    END {
        count = split("kernel,OpenMP,memset and memmove,malloc,loader", name, ",")
        for (i = 1; i <= count; i++) { printf "%-20s %5.1f %%\n", name[i], share[name[i]]; sum += share[name[i]] }
        printf "%-20s %5.1f %%\n", "together", sum
    }'
cut -d, -f1,2 "$work/line" | awk -F, '{ printf "seconds of the processor: %s, of these in the kernel: %s\n", $1 + $2, $2 }'
strace -f -qq -c -o "$work/calls" "${press[@]}" > /dev/null
awk '$NF == "total" { all = $4 } $NF == "futex" { futex = $4 } END { printf "calls of the kernel: %d, of these futex: %d\n", all, futex }' "$work/calls"
