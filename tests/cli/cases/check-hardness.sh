# exit 0
# stdout ^material.modulus +[0-9.]+ MPa +derived$
# stdout ^modulus by hardness
# stderr ^caution: the modulus
strutpress check $REPO/docs/demo/foot-firm.yaml
