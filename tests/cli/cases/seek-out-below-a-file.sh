# exit 6
# no stdout
# one line
# stderr ^t.yaml: cannot be made
# absent s.store

# The folder is tried before anything is pressed.
printf 'case:\n  coupon: {width: 12 mm, height: 10 mm}\n  press: {strain: 5 %%, steps: 4, find_critical: no}\nvary:\n  coupon.depth: {from: 5, to: 9}\nrequire:\n  mass: {at_least: 0.01 g}\n' > t.yaml
strutpress seek t.yaml --store s.store --out t.yaml/out --quiet
