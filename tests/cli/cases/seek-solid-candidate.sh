# exit 0
# stdout ^ 1\. square +20 % +5[0-9.]+ +0\.4914 +1 +0$
# stdout ^ 2\. solid +100 % +1100 +1\.152 +1 +0$
# present a/answer-1-square.vtk
# present a/answer-2-solid.yaml
# absent a/answer-2-solid.vtk
cat > target.yaml <<'TARGET'
case:
  coupon: {width: 12 mm, height: 10 mm, depth: 8 mm}
  press: {strain: 26 %, steps: 26, find_critical: no, load_limit: none}
candidates:
  infill.pattern: [square, solid]
vary: {infill.density: {from: 20 %, to: 60 %, within: 2 %}}
require: {force_25: {at_least: 20 N}}
save: mass
TARGET
strutpress seek target.yaml --store s.store --out a --quiet || exit 1
grep -q 'answer-2-solid.vtk' a/seek.json && exit 1
strutpress check a/answer-2-solid.yaml --quiet > /dev/null
