# exit 0
# stderr ^curve +rig.csv: 41 rows, travel .*zero as in the file
# stdout ^ +candidate +depth +misfit +match_force
# present o/match.svg
# present o/measured.svg
cat > t.yaml <<'TARGET'
case:
  coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
  infill: {pattern: triangular, angle: 0}
  bead: {walls: 1}
  press: {strain: 8 %, steps: 8, find_critical: no}
vary:
  coupon.depth: {from: 2 mm, to: 40 mm, within: 2 mm}
match: {curve: {file: rig.csv, zero: file}, to: 0.7 mm, misfit: 100 %}
TARGET
awk 'BEGIN { print "mm;N"; for (i = 0; i <= 40; i++) printf "%.3f;%.2f\n", 0.02 * i, 60 * 0.02 * i }' > rig.csv
strutpress seek t.yaml --store s.store --out o
