# exit 0
# stdout ^pressed    8 now, 0 stored before, 4 failed
# stdout ^pressed    0 now, 8 stored before
# stdout ^density 25 %, walls 1 +2 
# stdout \(2 failed\)$
# stdout exponents over the solid fraction
# stderr coupon [0-9] of the plan: p.yaml:6: bead.walls: received '9'
# present cmp/curves.svg
# present cmp/compare.csv
cat > p.yaml <<'PLAN'
case:
  coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}
  press: {strain: 10 %, steps: 6, find_critical: no}
axes:
  infill.density: {from: 25 %, to: 30 %, count: 2}
  bead.walls: [1, 9]
seeds: 2
where: infill.density < 90 %
PLAN
strutpress batch p.yaml --store s.store --threads 2 --quiet
strutpress batch p.yaml --store s.store --quiet 2> /dev/null
strutpress compare s.store --out cmp
# every state of the four presses that gave a curve, each in its line
python3 - <<'PYTHON'
import csv
rows = list(csv.DictReader(open("cmp/curves.csv")))
assert {(row["coupon"], row["flaw_seed"]) for row in rows} == {("density %s %%, walls 1" % d, s) for d in ("25", "30") for s in "12"}, rows[0]
assert all(float(row["infill.density"]) in (0.25, 0.3) for row in rows)
last = [row for row in rows if abs(float(row["strain"]) - 0.1) < 1e-9]
assert len(last) == 4 and all(float(row["force_N"]) > 0 and abs(float(row["shortening_mm"]) - 0.8) < 1e-9 for row in last)
PYTHON
