# exit 3
# one line
# stderr case.yaml:2: material.strain_state: received 'plane_strain'; valid: uniaxial
printf 'infill: {pattern: kelvin, cells: [3, 3, 3]}\nmaterial: {strain_state: plane_strain}\n' > case.yaml
strutpress check case.yaml
