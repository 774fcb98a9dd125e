# exit 3
# no stdout
# one line
# stderr ^a.yaml:2: coupon.width: received '20 kg'; valid: .*units mm, cm, m, um
# absent out
printf 'coupon:\n  width: 20 kg\n' > a.yaml
strutpress press a.yaml
