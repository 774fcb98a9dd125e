# exit 5
# no stdout
# one line
# stderr ^./rig.csv: received 2 lines \("force"\) without two rows of at least two numbers; valid: columns of numbers
# absent out
printf 'force\n0\n' > rig.csv
printf 'case: {}\nfit:\n  material.modulus: {from: 5 MPa, to: 60 MPa}\ntested:\n  - {curve: rig.csv}\n' > t.yaml
strutpress calibrate ./t.yaml
