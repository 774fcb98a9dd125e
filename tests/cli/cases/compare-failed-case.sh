# exit 0
# stdout ^bad +1 .*\(1 failed\)$
# stdout ^1 of 2 coupons failed or ended early; the first: bad.yaml:3: bead.walls: received '9'
# stderr ^caution: coupon 2 of the plan: bad.yaml:3: bead.walls
small='coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}\npress: {strain: 10 %%, steps: 4, find_critical: no}\n'
printf "$small" > good.yaml
printf "$small"'bead: {walls: 9}\n' > bad.yaml
strutpress compare good.yaml bad.yaml --quiet
