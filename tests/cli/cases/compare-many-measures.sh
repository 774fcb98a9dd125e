# exit 2
# no stdout
# one line
# stderr ^--measures: received more than [0-9]+ measures; valid: at most that many
printf 'case:\n  coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}\n  press: {strain: 2 %%, steps: 1, find_critical: no}\n' > p.yaml
strutpress batch p.yaml --store s.store --quiet > /dev/null
strutpress compare s.store --measures "$(for i in $(seq 80); do printf 'mass,'; done)mass"
