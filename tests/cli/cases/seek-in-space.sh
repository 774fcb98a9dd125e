# exit 0
# stdout ^1 of 1 candidates reach the target; least mass: body-centred-cubic at density
# stdout ^pressed again$
# present out/t/answer-1-body-centred-cubic.vtk
# present out/t/answer-1-body-centred-cubic.3mf
cat > t.yaml <<'TARGET'
case:
  coupon: {width: 10 mm, height: 10 mm, depth: 10 mm}
  infill: {cells: [1, 1, 1]}
  press: {strain: 12 %, steps: 8, load_limit: none, find_critical: no}
candidates:
  infill.pattern: [body-centred-cubic]
vary:
  infill.density: {from: 8 %, to: 24 %, within: 1 %}
require:
  initial_stiffness: {at_least: 4 N/mm}
save: mass
seeds: 1
TARGET
strutpress seek t.yaml --quiet || exit 1
printf '%s\n' 'coupon: {width: 10 mm, height: 10 mm, depth: 10 mm}' \
    'infill: {pattern: drawn, network: out/t/answer-1-body-centred-cubic.3mf}' \
    'press: {strain: 12 %, steps: 8, load_limit: none}' > drawn.yaml
strutpress press drawn.yaml --out drawn --quiet > table && echo "pressed again"
