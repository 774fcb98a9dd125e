# exit 0
# stdout caution: The layers are thinner \(0\.25 mm\) than a bead is wide \(0\.42 mm\)

printf 'coupon: {width: 10 mm, height: 8 mm, depth: 1 mm}\ninfill: {density: 20 %%, layers: 4, layer_turn: 0 deg}\nbead: {walls: 1}\npress: {strain: 2 %%, steps: 2, find_critical: no}\n' > c.yaml
strutpress press c.yaml --out o --quiet
