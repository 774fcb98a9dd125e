# exit 3
# no stdout
# one line
# stderr ^a.yaml:3: bead.walls: received '20'; valid: walls thinner than the coupon
# absent out
printf 'coupon:\n  width: 20\nbead: {walls: 20, width: 0.6}\n' > a.yaml
strutpress press a.yaml
