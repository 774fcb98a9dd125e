# exit 0
# stdout ^material.modulus +[0-9.]+ MPa +derived$
# stdout ^modulus by hardness
# stdout ^modulus by hardness +20\.8 .. 63\.8 MPa, 42\.5 its centre$
# stderr ^caution: The modulus 42\.5 MPa comes from a hardness
strutpress check $REPO/docs/demo/foot-firm.yaml
