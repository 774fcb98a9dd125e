# exit 0
# stdout ^branches   35 pushes from 2 states where it folds: other stable states at a strain of 1.52 %,$
# stdout ^           3.02 %\. Went on from one of less energy at 3.02 %
# stdout ^JSON 18 pushes, others 1, taken 1, points 8$
# present out/curve.svg
cat > foot.yaml <<'END'
coupon: {width: 30 mm, height: 30 mm, depth: 10 mm}
infill: {pattern: triangular, density: 15 %}
flaws: {seed: 39, row_scatter: 10 %}
press: {strain: 7 %, load_limit: none, steps: 14, find_critical: no, branches: yes}
END
strutpress press foot.yaml --quiet --out out &&
grep -q 'other stable states, pressed on' out/curve.svg &&
python3 -c 'import json; b = json.load(open("out/result.json"))["branches"]["looks"]; print("JSON %d pushes, others %d, taken %d, points %d" % (b[1]["pushes"], b[1]["others"], b[1]["taken"], len(b[1]["forces"])))'
