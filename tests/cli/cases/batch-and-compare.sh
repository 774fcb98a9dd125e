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
