# exit 5
# no stdout
# one line
# stderr ^none.store: cannot be read
# absent all.store
printf 'case:\n  coupon: {width: 10 mm, height: 8 mm}\n  infill: {density: 30 %%}\n  press: {strain: 5 %%, steps: 4}\n' > p.yaml
strutpress batch p.yaml --store s.store --quiet > /dev/null
strutpress gather s.store none.store --store all.store
