# exit 3
# one line
# stderr case.yaml:1: infill.cells_y: received 'nothing'; valid: cells along all three axes
printf 'infill: {pattern: kelvin, cells_x: 3}\n' > case.yaml
strutpress check case.yaml
