# exit 2
# one line
# stderr received --set with a plan; valid: with a case
# no stdout
printf 'axes:\n  infill.density: [30 %%]\n' > p.yaml
strutpress check p.yaml --set 'infill.density=3 %'
