# exit 0
# no stderr
strutpress check --quiet $REPO/docs/demo/foot-soft.yaml
