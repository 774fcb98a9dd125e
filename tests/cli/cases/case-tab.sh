# exit 3
# no stdout
# one line
# stderr ^a.yaml:2: received 'a tab in the indentation'; valid: spaces
# absent out
printf 'coupon:\n\twidth: 20\n' > a.yaml
strutpress press a.yaml
