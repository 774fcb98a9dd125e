# exit 0
# stderr caution: A drop that is computed is no proof that it protects
# stderr caution: The mass strains the coupon at 78.[0-9] /s, faster than tests of a filament are
# stderr caution: The mass strains the coupon at 78.[0-9] /s, and the law has no rate
cat > case.yaml <<'Y'
coupon: {width: 8 mm, height: 8 mm, depth: 4 mm}
infill: {density: 30 %}
material: {modulus: 30 MPa}
press: {protocol: drop 0.02 kg from 20 mm, steps: 12, find_critical: no}
Y
strutpress press case.yaml --quiet --set material.relaxation.exponent=0.05 --out relaxing > one.txt || exit 1
strutpress press case.yaml --quiet --out at-once > two.txt || exit 1
cat one.txt two.txt | grep caution >&2 || true
