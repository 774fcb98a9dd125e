# exit 3
# no stdout
# one line
# stderr ^p.yaml:3: received 'infill.densty'; valid: .*did you mean 'infill.density'
# absent out
printf 'case: {}\naxes:\n  infill.densty: [10 %%]\n' > p.yaml
strutpress batch p.yaml
