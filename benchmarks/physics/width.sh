#!/bin/bash
# Measure how far the band of the printed width is off: for three demo coupons, the band that one press gives is compared with
# presses of coupons 0.1 mm narrower and wider.
# usage: width.sh STRUTPRESS; writes width.csv beside this file and the table of docs/theory.md.
set -euo pipefail
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
trap 'rm -r "$work"' EXIT
for pair in foot-soft:bead.width_offset foot-firm:bead.width_offset kelvin-pad:infill.diameter_offset; do
    for offset in 0 -0.1 0.1; do
        "$1" press "docs/demo/${pair%%:*}.yaml" --quiet --seeds 1 --set press.find_critical=no --set press.strain=0.42 --set press.steps=84 \
            --set "${pair##*:}=$offset mm" --out "$work/${pair%%:*}$offset" > /dev/null 2>&1
    done
done
python3 - "$work" "$("$1" --version | sed -n 1p)" <<'END'
import csv, json, re, sys

def press(name):
    folder = f"{sys.argv[1]}/{name}"
    with open(folder + "/curve.csv") as stream:
        rows = list(csv.reader(line for line in stream if not line.startswith("#")))
    travel, force = rows[0].index("shortening_mm"), rows[0].index("force_N")
    curve = [(float(row[travel]), float(row[force])) for row in rows[1:]]
    with open(folder + "/result.json") as stream:
        return json.load(stream)["printed_width"], curve

def at(curve, u):
    for (a, f), (b, g) in zip(curve, curve[1:]):
        if b >= u * (1 - 1e-9):
            return f + (g - f) * (u - a) / (b - a)

def percent(share):
    return f"{100 * share:+.0f} %"

table = [["coupon", "figure", "told_narrower", "pressed_narrower", "told_wider", "pressed_wider"]]
for name in ["foot-soft", "foot-firm", "kelvin-pad"]:
    told, middle = press(name + "0")
    others = [press(name + "-0.1"), press(name + "0.1")]
    values = [other[0]["first_stiffness"]["value_N_per_mm"] for other in others]
    first = told["first_stiffness"]
    lines = [("stiffness", first["band"], [value / first["value_N_per_mm"] - 1 for value in values])]
    height = {"foot-soft": 24, "foot-firm": 24, "kelvin-pad": 20}[name]
    for force in told["forces"]:
        forces = [at(other[1], force["strain"] * height) for other in others]
        lines.append((f"force at {100 * force['strain']:.0f} %", force["band"],
                      [value / force["value_N"] - 1 for value in forces]))
    for figure, band, real in lines:
        table.append([name, figure, percent(band[0]), percent(real[0]), percent(band[1]), percent(real[1])])
with open("benchmarks/physics/width.csv", "w") as stream:
    stream.write("# " + sys.argv[2] + "\n")
    csv.writer(stream, lineterminator="\n").writerows(table)
text = "| coupon | figure | 0.1 mm narrower: told | pressed | wider: told | pressed |\n|" + "---|" * 6 + "\n"
text += "".join("| " + " | ".join(row) + " |\n" for row in table[1:])
with open("docs/theory.md") as stream:
    theory = stream.read()
theory = re.sub(r"(<!-- width -->\n).*?(<!-- end of width -->)", lambda m: m[1] + text + m[2], theory, flags=re.S)
with open("docs/theory.md", "w") as stream:
    stream.write(theory)
END
