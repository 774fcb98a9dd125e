# exit 3
# one line
# stderr case.yaml:1: infill.direction: received '1, 1'; valid: \[x, y, z\]
printf 'infill: {pattern: simple-cubic, cells: [3, 3, 3], direction: [1, 1]}\n' > case.yaml
strutpress check case.yaml
