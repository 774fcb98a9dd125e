# exit 3
# no stdout
# one line
# stderr ^case.yaml:2: material.filament: received 'urethane-95'; valid: .*or a file that ends in .yaml \(did you mean 'urethane-95a'\?\)$
printf 'infill: {density: 20 %%}\nmaterial: {filament: urethane-95}\n' > case.yaml
strutpress check case.yaml
