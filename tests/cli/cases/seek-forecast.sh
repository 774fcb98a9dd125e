# exit 0
# stderr ^forecast   1 candidate, about [0-9]+ presses less those stored: .* of processor time on a workstation, .* on [0-9]+ threads?, up to [0-9]+ MB each
# stdout ^1 of 1 candidates
cat > t.yaml <<'TARGET'
case:
  coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
  press: {strain: 8 %, steps: 4, find_critical: no}
vary:
  infill.density: {from: 16 %, to: 25 %, within: 2 %}
require:
  mass: {at_most: 1 kg}
TARGET
strutpress seek t.yaml
