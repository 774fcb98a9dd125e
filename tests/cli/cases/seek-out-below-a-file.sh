# exit 6
# stdout ^1 of 1 candidates reach
# one line
# stderr ^t.yaml: cannot be made
# present s.store
printf 'case:\n  coupon: {width: 12 mm, height: 10 mm}\n  press: {strain: 5 %%, steps: 4, find_critical: no}\nvary:\n  coupon.depth: {from: 5, to: 9}\nrequire:\n  mass: {at_least: 0.01 g}\n' > t.yaml
strutpress seek t.yaml --store s.store --out t.yaml/out --quiet
