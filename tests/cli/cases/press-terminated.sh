# exit 130
# stderr interrupted
# present o/curve.csv
# present o/result.json
printf 'press: {strain: 95 %%, load_limit: none, steps: 100000, find_critical: no}\n' > long.yaml
timeout --preserve-status 2 strutpress press long.yaml --out o # sends SIGTERM, and again to the group
