# exit 130
# no stdout
# stderr ^curve +rig.csv: 3 rows, travel
# stderr ^interrupted: [0-9]+ presses of this calibration are stored; the same command goes on
# present s.store
# present o/measured-1.svg
# absent o/calibrate.json
printf '0 0\n1 5\n2 8\n' > rig.csv
printf 'case:\n  press: {strain: 5 %%, steps: 100000, find_critical: no}\nfit:\n  material.modulus: {from: 5 MPa, to: 60 MPa}\ntested:\n  - {curve: rig.csv}\n' > t.yaml
strutpress calibrate t.yaml --store s.store --out o & # a million steps take far longer than the wait
sleep 2
kill -INT $!
wait $!
