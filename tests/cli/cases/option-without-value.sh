# exit 2
# no stdout
# one line
# stderr received '--out' without its value
strutpress press $REPO/docs/demo/foot-soft.yaml --out
