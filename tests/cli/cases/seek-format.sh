# exit 0
# stdout ^place,candidate,reached,infill.density,force_10 \[N\],
# stdout ^1,"square",yes,0\.[0-9]+,[0-9.]+,
# stdout ^the same answer in both$
cat > t.yaml <<'TARGET'
case:
  coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
  bead: {walls: 1}
  press: {strain: 12 %, steps: 8, find_critical: no}
vary:
  infill.density: {from: 16 %, to: 35 %, within: 1 %}
require:
  force_10: {at_least: 6 N}
TARGET
strutpress seek t.yaml --format json --quiet > answer.json || exit 1
strutpress seek t.yaml --format csv --quiet | tee answer.csv
python3 - <<'PYTHON'
import csv, json
answer = json.load(open("answer.json"))["candidates"][0]
row = next(csv.DictReader(open("answer.csv")))
same = float(row["infill.density"]) == answer["variables"]["infill.density"] and float(row["force_10 [N]"]) == answer["figures"]["force_10"]["median"]
print("the same answer in both" if same and answer["reached"] else (row, answer))
PYTHON
