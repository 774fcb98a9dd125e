# exit 3
# one line
# stderr case.yaml:1: infill.cells_x: received '1000'; valid: cells that take fewer than 4e\+06 lines
printf 'infill: {pattern: octet-truss, cells: [1000, 1000, 1000], density: 5 %%}\n' > case.yaml
strutpress check case.yaml
