# exit 3
# one line
# no stdout
# stderr case.yaml:2: infill.cells: received 'nothing'; valid: cells: \[x, y, z\], cell_size or strut_diameter beside the density
printf 'infill:\n  pattern: kelvin\n  density: 10 %%\n' > case.yaml
strutpress check case.yaml
