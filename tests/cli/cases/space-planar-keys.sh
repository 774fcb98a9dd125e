# exit 0
# stderr caution: infill.angle is not read: infill.pattern simple-cubic is spatial
# stderr caution: bead.walls is not read: infill.pattern simple-cubic is spatial
printf 'coupon: {width: 20, height: 20, depth: 20}\ninfill: {pattern: simple-cubic, cells: [4, 4, 4], angle: 30 deg}\nbead: {walls: 1}\n' > case.yaml
strutpress check case.yaml
