# exit 3
# no stdout
# one line
# stderr ^a.yaml:2: received .*; valid: YAML
# absent out
printf 'coupon: {width: 20\n' > a.yaml
strutpress press a.yaml
