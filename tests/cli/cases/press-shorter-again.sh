# exit 0
# present o/state_001.vtu
# absent o/state_002.vtu
printf 'press: {strain: 5 %%, steps: 10, find_critical: no}\n' > a.yaml
strutpress press --quiet a.yaml --out o > long.txt || exit
touch o/state_002.vtu o/state_003.vtu
strutpress press --quiet a.yaml --out o --set press.strain=0.1% --set press.steps=1
