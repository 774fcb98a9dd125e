# exit 2
# no stdout
# one line
# stderr --set: received 'infill.density'; valid: section.name=value
strutpress check $REPO/docs/demo/foot-soft.yaml --set infill.density
