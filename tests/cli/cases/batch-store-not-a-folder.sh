# exit 6
# no stdout
# one line
# stderr ^/proc/strutpress: cannot be made
printf 'case: {}\n' > p.yaml
strutpress batch p.yaml --store /proc/strutpress/s.store
