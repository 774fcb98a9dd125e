# exit 3
# one line
# stderr case.yaml:1: infill.direction: received '0, 0, 0'; valid: \[x, y, z\], not all of them zero
printf 'infill: {pattern: simple-cubic, cells: [3, 3, 3], direction: [0, 0, 0]}\n' > case.yaml
strutpress check case.yaml
