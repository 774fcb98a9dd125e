# exit 0
# stderr caution: the cells are stretched: cell lengths of 5, 4 and 5 mm along x, y, z
printf 'coupon: {width: 20, height: 20, depth: 20}\ninfill: {pattern: simple-cubic, cells: [4, 5, 4]}\n' > case.yaml
strutpress check case.yaml
