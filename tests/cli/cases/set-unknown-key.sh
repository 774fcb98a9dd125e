# exit 3
# no stdout
# one line
# stderr ^--set: received 'infill.densty'; valid: .*did you mean 'infill.density'
strutpress press $REPO/docs/demo/foot-soft.yaml --set infill.densty=3
