# exit 3
# one line
# stderr case.yaml:1: infill.cell_size: received '30 mm'; valid: cells that fit the coupon
printf 'infill: {pattern: kelvin, cell_size: 30 mm}\n' > case.yaml
strutpress check case.yaml
