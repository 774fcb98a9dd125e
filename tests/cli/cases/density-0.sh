# exit 3
# no stdout
# one line
# stderr infill.density: received '0'; valid: 1 % .. 100 %
# absent out
printf 'infill: {density: 0}\n' > a.yaml
strutpress press a.yaml
