# exit 2
# no stdout
# one line
# stderr --out: received ''
strutpress press $REPO/docs/demo/foot-soft.yaml --out ''
