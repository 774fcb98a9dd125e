# exit 0
# stdout ^material.modulus +30 MPa +17 MPa +[+]-[0-9.e-]+ MPa +17 MPa .. 17 MPa
# stdout ^square, density 20 % +measured
# stdout ^ +fitted +0 %
# stdout ^ +left out
# stdout ^square, density 25 % +predicted +[0-9.]+  \+-
# stdout ^5 coupons pressed now, 1 taken from the store
# stdout ^0 coupons pressed now, 6 taken from the store
# stdout ^Predictions for choosing coupons to print, not proof
# stdout ^files: out/t/   store: out/t.store
# stdout ^pressed 17 told 17$
# present out/t/calibrate.json
# present out/t/calibrate.csv
# present out/t/curves.svg
cat > small.yaml <<'CASE'
coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
bead: {walls: 1}
press: {strain: 20 %, steps: 16, find_critical: no}
CASE
for density in 20 30; do
    strutpress press small.yaml --set infill.density=$density% --set material.modulus=17MPa --out p$density --quiet > table || exit 1
    awk -F, 'NR > 1 {print $2 "," $3}' p$density/curve.csv > rig-$density.csv
done
cat > t.yaml <<'TESTED'
base: small.yaml
fit:
  material.modulus: {from: 5 MPa, to: 60 MPa, within: 0.1 MPa}
tested:
  - {infill.density: 20 %, curve: rig-20.csv}
  - {infill.density: 30 %, curve: rig-30.csv}
predict:
  - {infill.density: 25 %}
TESTED
strutpress calibrate t.yaml --threads 2 --quiet || exit 1
strutpress calibrate t.yaml --quiet || exit 1
strutpress check out/t/calibrated.yaml --quiet > table || exit 1
echo "pressed 17 told $(awk '$1 == "material.modulus" {print $2; exit}' table)"
