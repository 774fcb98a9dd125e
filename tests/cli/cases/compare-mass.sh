# exit 0
# no stderr
# stdout at equal mass, 0.25 g
printf 'case:\n  coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}\n  press: {strain: 50 %%, steps: 20, find_critical: no}\naxes:\n  infill.density: [25 %%, 30 %%]\n' > p.yaml
strutpress batch p.yaml --store s.store --quiet > /dev/null 2>&1
strutpress compare s.store --mass 0.25
