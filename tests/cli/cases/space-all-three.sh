# exit 3
# one line
# no stdout
# stderr case.yaml:3: infill.density: received '10 %'; valid: two of density, cell and strut_diameter; the third follows
printf 'infill:\n  pattern: kelvin\n  density: 10 %%\n  cells: [3, 3, 3]\n  strut_diameter: 1 mm\n' > case.yaml
strutpress check case.yaml
