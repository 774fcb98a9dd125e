# exit 2
# no stdout
# one line
# stderr --rank: received 'mas'.*did you mean 'mass'
printf 'case:\n  coupon: {width: 10 mm, height: 8 mm}\n  infill: {density: 30 %%}\n  press: {strain: 5 %%, steps: 4}\n' > p.yaml
strutpress batch p.yaml --store s.store --quiet > /dev/null
strutpress compare s.store --rank mas
