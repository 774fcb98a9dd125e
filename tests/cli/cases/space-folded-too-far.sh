# exit 3
# one line
# stderr case.yaml:1: infill.cell_ratio: received '0\.5'; valid: more than
printf 'infill: {pattern: re-entrant-cubic, cells: [3, 3, 3], cell_ratio: 0.5}\n' > case.yaml
strutpress check case.yaml
