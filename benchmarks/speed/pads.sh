#!/bin/bash
# Press reference pads that are printed flat and pressed from above (press.direction: along), and measure what each takes to its end:
#   benchmarks/speed/pads.sh PROGRAM OUT.csv [PATTERN/DENSITY/HEIGHT/BEADS/SKINS/SIZE ...]
# Rows are added behind those that OUT.csv has. Without a list it presses all pads of 30 x 30 mm, five patterns, 12, 20 and 30 %, 8 and 20 mm high,
# one and two beads around, without skins and with skins of 0.8 mm, which takes a day. SEEDS (1) and STRAIN (60 %) may be set.
# Columns: seconds on the clock and of the processor, both of all threads; the strain that was reached; peak memory.
set -eu
commit=${COMMIT:-$(git rev-parse --short=8 HEAD)}
keep=${KEEP:+$(realpath -m "$KEEP")}
program=$(realpath "$1") out=$(realpath -m "$2")
shift 2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
pads=("$@")
if [ $# = 0 ]; then
    for pattern in square hexagonal triangular kagome random-cells; do for density in 20 12 30; do for height in 8 20; do
        for beads in 1 2; do for skins in 0 0.8; do pads+=("$pattern/$density/$height/$beads/$skins/30"); done; done
    done; done; done
fi
[ -s "$out" ] || echo "version,pattern,density_percent,height_mm,beads,skins_mm,side_mm,seed,end,strain_reached,force_25_N,snaps,unknowns,iterations,factorizations,clock_s,processor_s,peak_MiB,commit" > "$out"
for pad in "${pads[@]}"; do
    IFS=/ read -r pattern density height beads skins side <<< "$pad"
    angle=$([ "$pattern" = square ] && echo 45 || echo 0)
    for seed in $(seq "${SEEDS:-1}"); do
        cat > pad.yaml << CASE
coupon: {width: $side mm, depth: $side mm, height: $height mm, skins: $skins mm}
infill: {pattern: $pattern, density: $density %, angle: $angle deg}
bead: {width: 0.42 mm, walls: $beads}
material: {law: neo-hookean, modulus: 45 MPa}
press: {direction: along, strain: ${STRAIN:-60 %}, find_critical: no}
flaws: {seed: $seed}
CASE
        rm -rf pad
        status=0
        { TIMEFORMAT='%R %U'; time "$program" press --seeds 1 pad.yaml --out pad > table.txt 2> said.txt || status=$?; } 2> seconds.txt
        read -r clock processor < seconds.txt
        peak=$(sed -n 's/.*peak memory \([0-9]*\) MiB.*/\1/p' said.txt)
        python3 - "$pattern,$density,$height,$beads,$skins,$side,$seed" "$clock,$processor,$peak,$commit" "$status" << 'PYTHON' >> "$out"
import json, sys
pad, cost, status = sys.argv[1:]
try:
    result = json.load(open("pad/result.json"))
except OSError:
    print(f"-,{pad},refused ({status}),0,,,,,,{cost}")
    sys.exit()
rows = [line.split(",") for line in open("pad/curve.csv").read().split()]
force = next((row[2] for row in rows[1:] if float(row[3]) >= 0.25 - 1e-9), "")
run = result["run"]
print(f"{result['version']},{pad},{result['stop']},{float(rows[-1][3]):.4g},{force},{result['snaps']['count']},"
      f"{run['unknowns']},{run['iterations']},{run['factorizations']},{cost}")
PYTHON
        tail -1 "$out"
        [ -z "$keep" ] || [ ! -d pad ] || { mkdir -p "$keep" && rm -rf "$keep/${pad//\//-}-$seed" && cp -r pad "$keep/${pad//\//-}-$seed"; }
    done
done
