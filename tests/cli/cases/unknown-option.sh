# exit 2
# no stdout
# one line
# stderr received '--outt'; valid: --out, --set, --figures, --seeds, --try, --format, --case, --quiet, --help
# absent out
strutpress press --outt x $REPO/docs/demo/foot-soft.yaml
