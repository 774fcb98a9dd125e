# exit 0
# stdout ^  energy_dissipated +not modelled: law neo-hookean gives all back$
# stdout ^  set_strain +not modelled: law neo-hookean gives all back$
# stdout ^  instant_set +not modelled: law neo-hookean gives all back$
# stdout ^  energy_returned +not modelled: law neo-hookean gives all back$
# stdout ^  energy_kept +not modelled: law neo-hookean gives all back$
# stdout ^  energy_kept +[0-9.e-]+  -  \(friction's alone: the law gives all back\)$
# stdout ^  energy_dissipated +[0-9.e-]+  mJ  \(friction's alone: the law gives all back\)$
# stdout ^energy_kept: not modelled: law neo-hookean gives all back$
# stdout ^all files say it$

cat > c.yaml <<'CASE'
coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
bead: {walls: 1}
press: {strain: 20 %, steps: 20, find_critical: no, unload: yes}
CASE
words='not modelled: law neo-hookean gives all back'
strutpress press c.yaml --out o --quiet || exit 1
strutpress press c.yaml --set platens.friction=0.4 --set platens.hold=friction --out rubs --quiet || exit 1
strutpress compare c.yaml --measures force_10,energy_kept --out compared --quiet || exit 1
strutpress report c.yaml --measures force_10,energy_kept --out page.html --quiet > /dev/null || exit 1
grep -A 3 '"energy_kept"' o/result.json | grep -q '"value": null' &&
    grep -A 4 '"energy_kept"' o/result.json | grep -q "\"reason\": \"$words\"" &&
    grep -A 4 '"energy_kept"' rubs/result.json | grep -q '"note": "friction' &&
    grep -q "the way back; what is left and kept is $words" o/curve.svg &&
    grep -q "energy_kept: $words" compared/compare.csv &&
    grep -q "\"words\": *\"$words\"" page.html && echo "all files say it"
