# exit 6
# no stdout
# one line
# stderr ^/proc/strutpress: cannot be made

# A press that would take far longer than a test may.
printf 'press: {strain: 95 %%, load_limit: none, steps: 100000, find_critical: no}\n' > long.yaml
strutpress press long.yaml --out /proc/strutpress/o --quiet
