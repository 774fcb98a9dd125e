# exit 3
# stdout ^modulus by hardness: 95 Shore A is 39\.1 \.\. 102 MPa, 67\.7 MPa is taken; forces over that band$
# stdout ^  at 39\.1 MPa +[0-9.]+ +- +-  N$
# stdout ^  at 102 MPa +[0-9.]+ +- +-  N$
# stdout ^caution: The modulus 67\.7 MPa comes from a hardness \(95 Shore A: 39\.1 \.\. 102 MPa\)
# stdout ^  The modulus 67\.7 MPa comes from a hardness
# stdout ^a measured modulus overrides$
# stderr material.shore_d: received '70'; valid: .* 95 Shore A says 67\.7 MPa \(39\.1 \.\. 102\), 70 Shore D says
printf 'coupon: {width: 12, height: 10, depth: 5}\nbead: {walls: 1}\nmaterial: {shore_a: 95}\npress: {strain: 12 %%, steps: 12, find_critical: no}\n' > a.yaml
strutpress press a.yaml --out a --quiet || exit 1
grep -q '"band_MPa"' a/result.json || exit 1
strutpress compare a.yaml --store s.store --out c --quiet || exit 1
strutpress press a.yaml --out b --quiet --set material.modulus=30 > b.txt || exit 1
grep -q '"hardness": null' b/result.json && ! grep -q 'modulus by hardness' b.txt && echo 'a measured modulus overrides'
strutpress check a.yaml --quiet --set material.shore_d=70 > /dev/null
