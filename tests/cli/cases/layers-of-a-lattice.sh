# exit 3
# no stdout
# one line
# stderr ^a.yaml:1: infill.layers: received '3'; valid: 0, because infill.pattern is spatial
printf 'infill: {pattern: kelvin, cells: [2, 2, 2], layers: 3}\n' > a.yaml
strutpress check a.yaml
