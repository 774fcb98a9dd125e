# exit 3
# no stdout
# one line
# stderr ^--set: infill.density: received '0'; valid: 1 %
strutpress press $REPO/docs/demo/foot-soft.yaml --set infill.density=0
