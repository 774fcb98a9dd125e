# exit 0
# stdout ^No candidate reaches the target. Nearest comes square at density 35 %: initial_stiffness .* is below 5000 N/mm, off by
# present out/t/seek.json
cat > t.yaml <<'TARGET'
case:
  coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
  bead: {walls: 1}
  press: {strain: 12 %, steps: 8, find_critical: no}
vary:
  infill.density: {from: 16 %, to: 35 %, within: 1 %}
require:
  initial_stiffness: {at_least: 5000 N/mm}
TARGET
strutpress seek t.yaml
