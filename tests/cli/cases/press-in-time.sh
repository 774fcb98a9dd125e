# exit 0
# stdout set_1_min
# present out/pad/time.svg
cat > pad.yaml <<'CASE'
coupon: {width: 14 mm, height: 12 mm, depth: 5 mm}
bead: {walls: 1}
material: {filament: urethane-95a}
press:
  steps: 20
  find_critical: no
  protocol: [press to 10 %, hold for 10 s, release, rest for 1 min]
CASE
strutpress press pad.yaml --out out/pad 2> /dev/null && grep -q time_s,segment,cycle out/pad/curve.csv &&
  grep -q '"segment": "rest for 1 min"' out/pad/result.json
