# exit 5
# one line
# stderr hold.csv:3: received 2 numbers; valid: at least 3
printf '0,0,0\n1,0.1,2\n2,0.1\n' > hold.csv
printf 'material:\n  - {curve: hold.csv}\n' > tests.yaml
strutpress calibrate tests.yaml --out out/fit
