# exit 5
# no stdout
# one line
# stderr ^./rig.csv:3: received 0.5 mm after 1 mm; valid: shortenings that do not fall
# absent out
printf '0 0\n1 5\n0.5 4\n' > rig.csv
printf 'case: {}\nfit:\n  material.modulus: {from: 5 MPa, to: 60 MPa}\ntested:\n  - {curve: rig.csv}\n' > t.yaml
strutpress calibrate ./t.yaml
