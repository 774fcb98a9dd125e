# exit 0
# stdout ^target +2 candidates, about [0-9]+ presses$
# stdout ^cannot be built +1, for these reasons:$
# stdout ^  candidate 2: width 3 mm: .*bead.width.*valid: walls thinner than the coupon
# stdout ^longest press +candidate 1: 
# no stderr
cat > t.yaml <<'TARGET'
case:
  coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
  press: {strain: 12 %, steps: 8, load_limit: none, find_critical: no}
candidates:
  bead.width: [0.4 mm, 3 mm]
vary:
  infill.density: {from: 15 %, to: 24 %, within: 1 %}
require:
  initial_stiffness: {at_least: 4 N/mm}
save: mass
TARGET
strutpress check --quiet t.yaml
