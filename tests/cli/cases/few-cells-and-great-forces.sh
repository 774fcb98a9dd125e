# exit 0
# stderr ^caution: The coupon is 1\.[0-9] cells high: with less than 2
# stdout ^caution: The coupon is 1\.[0-9] cells high
# stdout ^caution: From [0-9.]+ % strain on the force is above 100 kN
# stdout ^two cells are enough$
printf 'coupon: {width: 20, height: 6, depth: 6}\nbead: {walls: 1}\npress: {strain: 5 %%, steps: 4, find_critical: no}\n' > a.yaml
strutpress check a.yaml --quiet > /dev/null || exit 1
strutpress press a.yaml --quiet || exit 1
printf 'infill: {pattern: solid}\npress: {strain: 60 %%}\nmaterial: {modulus: 100 MPa}\n' > b.yaml
strutpress press b.yaml --quiet || exit 1
strutpress check "$REPO/docs/demo/kelvin-pad.yaml" --quiet 2>&1 | grep -q 'cells high' || echo 'two cells are enough'
