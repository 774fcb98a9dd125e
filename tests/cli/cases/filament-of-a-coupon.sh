# exit 3
# no stdout
# one line
# stderr ^own.yaml:1: infill.density: received 'a key of the case'; valid: keys of the section material, without filament$
printf 'infill: {density: 20 %%}\nmaterial: {modulus: 30 MPa}\n' > own.yaml
printf 'material: {filament: own.yaml}\n' > case.yaml
strutpress check case.yaml
