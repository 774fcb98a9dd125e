# exit 3
# no stdout
# one line
# stderr ^a.yaml:2: received 'infill.densty'; valid: pattern, density, .*\(did you mean 'infill.density'\?\)
# absent out
printf 'infill:\n  densty: 20 %%\n' > a.yaml
strutpress press a.yaml
