# exit 3
# no stdout
# stderr ^a.yaml:1: infill.cells: received ''; valid: a list of plain values$
# stderr ^p.yaml:3: infill.cells: received ''; valid: a list of plain values$
printf 'infill: {pattern: kelvin, density: 12 %%, cells: ["", 2, 2, 2]}\n' > a.yaml
printf 'case: {}\naxes:\n  infill.cells: [["", 2, 2, 2]]\n' > p.yaml
strutpress check a.yaml
strutpress batch p.yaml
