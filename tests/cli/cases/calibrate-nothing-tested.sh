# exit 3
# no stdout
# one line
# stderr ^t.yaml: received a file without tested coupons; valid: `tested:` with
# absent out
printf 'case: {}\nfit:\n  material.modulus: {from: 5 MPa, to: 60 MPa}\n' > t.yaml
strutpress calibrate t.yaml
