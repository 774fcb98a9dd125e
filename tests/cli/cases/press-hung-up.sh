# exit 130
# stderr interrupted
# present o/curve.csv
printf 'press: {strain: 95 %%, load_limit: none, steps: 100000, find_critical: no}\n' > long.yaml
timeout --preserve-status -s HUP 2 strutpress press long.yaml --out o
