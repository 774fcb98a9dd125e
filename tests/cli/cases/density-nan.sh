# exit 3
# no stdout
# one line
# stderr infill.density: received 'NaN'
# absent out
printf 'infill: {density: NaN}\n' > a.yaml
strutpress press a.yaml
