# exit 3
# one line
# stderr case.yaml:3: infill.cell_size: received '5 mm'; valid: either cells across the coupon or the size of a cell
printf 'infill:\n  pattern: kelvin\n  cell_size: 5 mm\n  cells: [3, 3, 3]\n' > case.yaml
strutpress check case.yaml
