# exit 3
# no stdout
# one line
# stderr infill.density: received '1.5'
# absent out
printf 'infill: {density: 1.5}\n' > a.yaml
strutpress press a.yaml
