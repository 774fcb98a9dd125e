#!/bin/bash
# Show what press.branches finds: planar coupons with even rows and with rows that differ, a Kelvin block, and the measured block of
# tests/data/beam_lattices are each pressed with and without the search.
# usage: branches.sh STRUTPRESS; writes branches.csv beside this file and the table of docs/theory.md.
set -euo pipefail
program=$(realpath "$1")
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
trap 'rm -r "$work"' EXIT

# one NAME SETTING...: press the case in $work/NAME.yaml or the one named by CASE
one() {
    local name=$1 settings=()
    shift
    for s in "$@"; do settings+=(--set "$s"); done
    for branches in no yes; do
        "$program" press "$case" --quiet --seeds 1 "${settings[@]}" --set "press.branches=$branches" --out "$work/$name/$branches" > /dev/null 2>&1
    done
    echo "$name" >> "$work/names"
}

cat > "$work/planar.yaml" <<'END'
coupon: {width: 30 mm, height: 30 mm, depth: 10 mm}
infill: {pattern: triangular, density: 15 %}
press: {strain: 30 %, load_limit: none, steps: 60, find_critical: no}
END
cat > "$work/kelvin.yaml" <<'END'
coupon: {width: 30 mm, height: 30 mm, depth: 30 mm}
infill: {pattern: kelvin, cells: [3, 3, 3], strut_diameter: 0.9 mm}
press: {strain: 45 %, load_limit: none, steps: 60, find_critical: no}
END
case=$work/planar.yaml
one "triangles, even rows, seed 1"
for seed in 1 3 39; do
    one "triangles, rows differ by 10 %, seed $seed" "flaws.row_scatter=10 %" "flaws.seed=$seed"
done
one "squares, even rows, seed 3" infill.pattern=square flaws.seed=3
one "squares, rows differ by 10 %, seed 3" infill.pattern=square flaws.seed=3 "flaws.row_scatter=10 %"
one "hexagons, rows differ by 10 %, seed 1" infill.pattern=hexagonal "flaws.row_scatter=10 %"
case=$work/kelvin.yaml
one "Kelvin block of 3 x 3 x 3 cells"
case=tests/data/beam_lattices/body_centred_block.yaml
one "measured block, struts of 1.2 mm" "press.strain=51 %"
one "the same, ends 1.4 times as thick" "press.strain=51 %" joint.thickening=1.4
python3 - "$work" "$("$1" --version | sed -n 1p)" <<'END'
import csv, json, re, sys

def press(name, branches):
    folder = f"{sys.argv[1]}/{name}/{branches}"
    with open(folder + "/curve.csv") as stream:
        rows = list(csv.reader(line for line in stream if not line.startswith("#")))
    travel, force = rows[0].index("shortening_mm"), rows[0].index("force_N")
    with open(folder + "/result.json") as stream:
        result = json.load(stream)
    return result["branches"], [(float(row[travel]), float(row[force])) for row in rows[1:]], result["run"]["factorizations"]

def at(curve, u):
    for (a, f), (b, g) in zip(curve, curve[1:]):
        if b >= u:
            return f + (g - f) * (u - a) / (b - a) if b > a else g
    return curve[-1][1]

def strains(looks):
    return ", ".join(f"{100 * look['strain']:.1f} %" for look in looks) or "-"

table = [["coupon", "pushes", "others_at", "taken_at", "others_apart", "curve_moved", "times_as_much_work"]]
with open(sys.argv[1] + "/names") as stream:
    names = stream.read().splitlines()
for name in names:
    found, searched, work = press(name, "yes")
    _, plain, usual = press(name, "no")
    looks = found["looks"]
    end = min(searched[-1][0], plain[-1][0])
    points = [end * i / 200 for i in range(1, 201)]
    mean = sum(at(plain, u) for u in points) / len(points)
    moved = max(abs(at(searched, u) - at(plain, u)) for u in points) / mean if any(l["taken"] for l in looks) else 0
    table.append([name, str(sum(look["pushes"] for look in looks)), strains([l for l in looks if l["others"]]),
                  strains([l for l in looks if l["taken"]]), f"{100 * found['apart']:.1f} %", f"{100 * moved:.0f} %",
                  f"{work / usual:.1f}"])
with open("benchmarks/physics/branches.csv", "w") as stream:
    stream.write("# " + sys.argv[2] + "\n")
    csv.writer(stream, lineterminator="\n").writerows(table)
heads = ["coupon", "pushes", "others at", "went over at", "others lie apart by", "curve moved by up to", "times as many factorizations"]
text = "| " + " | ".join(heads) + " |\n|" + "---|" * len(heads) + "\n"
text += "".join("| " + " | ".join(row) + " |\n" for row in table[1:])
with open("docs/theory.md") as stream:
    theory = stream.read()
theory = re.sub(r"(<!-- branches -->\n).*?(<!-- end of branches -->)", lambda m: m[1] + text + m[2], theory, flags=re.S)
with open("docs/theory.md", "w") as stream:
    stream.write(theory)
END
