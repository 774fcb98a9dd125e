# exit 0
# stdout ^coupons    2, 2 with curves, 1 with their states$
# present page.html
cat > p.yaml <<'PLAN'
case:
  coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}
  press: {strain: 10 %, steps: 6, find_critical: no}
axes:
  infill.density: {from: 25 %, to: 30 %, count: 2}
seeds: 2
PLAN
strutpress batch p.yaml --store s.store --quiet > /dev/null
strutpress report s.store --out page.html --show 'density 30 %' --quiet
grep -q '"label":"density 30 %","marks"' page.html
