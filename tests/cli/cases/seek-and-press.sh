# exit 0
# stdout ^ 1\. .*triangular, angle 0 deg
# stdout ^ -  .*square, angle 45 deg
# stdout ^      misses the target: initial_stiffness .* is below 45 N/mm, off by
# stdout ^1 of 2 candidates reach the target; least mass: triangular, angle 0 deg at density
# stdout ^[1-9][0-9]* coupons pressed now, 0 taken from the store
# stdout ^0 coupons pressed now, [1-9][0-9]* taken from the store
# stdout ^Predictions for choosing coupons to print, not proof
# stdout ^pressed 1 now .* told
# stdout ^files: out/t/   store: out/t.store
# present out/t/seek.json
# present out/t/seek.csv
# present out/t/answer-1-triangular.vtk
# absent out/t/answer-2-square.yaml
cat > t.yaml <<'TARGET'
case:
  coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
  bead: {walls: 1}
  press: {strain: 12 %, steps: 8, find_critical: no}
candidates:
  infill.pattern + infill.angle:
    - [square, 45 deg]
    - [triangular, 0]
vary:
  infill.density: {from: 16 %, to: 35 %, within: 1 %}
require:
  initial_stiffness: {at_least: 45 N/mm}
seeds: 2
TARGET
strutpress seek t.yaml --threads 2 --quiet || exit 1
strutpress seek t.yaml --quiet || exit 1
told=$(sed -n 's/^# initial_stiffness \([0-9.]*\) .*/\1/p' out/t/answer-1-triangular.yaml)
strutpress press out/t/answer-1-triangular.yaml --out p --quiet > table || exit 1
got=$(awk '$1 == "initial_stiffness" {print $2}' table)
awk -v a="$told" -v b="$got" 'BEGIN {d = a - b; if (d < 0) d = -d; exit !(d <= 1e-3 * a)}' && echo "pressed 1 now $got, told $told"
