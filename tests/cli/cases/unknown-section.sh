# exit 3
# no stdout
# one line
# stderr did you mean 'infill'
# absent out
printf 'infil: {}\n' > a.yaml
strutpress press a.yaml
