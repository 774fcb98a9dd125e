# exit 0
# stdout ^      the lower end of infill.density moved from 2 % to [0-9.]+ %: beyond, .*do not fit
# stdout ^      infill.density [0-9.]+ % is the lower end of what can be built: the search could not go further$
# stdout ^      infill.density 2 % is the lower end of its range: a better answer may lie beyond$
# stdout ^      infill.density 35 % is the upper end of its range: the target may be met beyond$
# stdout ^      misses the target: nothing can be built: .*infill.cells: received 'nothing'; valid: cells: 
# stdout ^remarks in JSON and CSV$
# stdout ^      2 of 4 combinations of whole numbers cannot be built; the first, bead.walls 10: 
cat > t.yaml <<'TARGET'
case:
  coupon: {width: 20 mm, height: 20 mm, depth: 20 mm}
  infill: {cells: [3, 3, 3]}
  press: {strain: 12 %, steps: 8, find_critical: no}
candidates:
  infill.pattern: [square, simple-cubic]
vary:
  infill.density: {from: 2 %, to: 35 %, within: 1 %}
require:
  initial_stiffness: {at_least: 0.01 N/mm}
TARGET
strutpress seek t.yaml --quiet || exit 1
grep -q '"the lower end of infill.density moved' out/t/seek.json && grep -q 'the lower end of infill.density moved.*; infill.density' out/t/seek.csv && echo 'remarks in JSON and CSV'
sed 's/0.01 N/90000 N/' t.yaml > u.yaml
strutpress seek u.yaml --quiet --out u || exit 1
sed '/infill: {cells/d; s/\[square, simple-cubic\]/[kelvin]/' t.yaml > v.yaml
strutpress seek v.yaml --quiet --out v
status=$?
cat > w.yaml <<'TARGET'
case:
  coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
  press: {strain: 6 %, steps: 6, find_critical: no}
vary:
  infill.density: {from: 16 %, to: 35 %, within: 5 %}
  bead.walls: {from: 8, to: 11}
require:
  initial_stiffness: {at_least: 1 N/mm}
TARGET
strutpress seek w.yaml --quiet --out w || exit 1
exit $status
