# exit 0
# stdout modulus when all has relaxed
# stdout a guess: the same true stress
# present out/fit/material.svg
cat > hold.csv <<'ROWS'
time_s,strain,stress_MPa
0,0,0
2,0.05,1.4
4,0.1,2.6
6,0.1,2.3
10,0.1,2.15
40,0.1,1.9
100,0.1,1.8
ROWS
cat > tests.yaml <<'TESTS'
loading: compression
flow: no
material:
  - {curve: hold.csv, name: ten minutes at ten percent}
TESTS
cat > pad.yaml <<'CASE'
coupon: {width: 14 mm, height: 12 mm, depth: 5 mm}
material: {filament: out/fit/filament.yaml}
press: {strain: 5 %, steps: 10, find_critical: no}
CASE
strutpress calibrate tests.yaml --out out/fit 2> /dev/null && strutpress press pad.yaml --out out/pad > /dev/null 2>&1
