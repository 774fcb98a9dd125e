# exit 130
# no stdout
# one line
# stderr ^interrupted: no page is written$
# absent page.html
printf 'press: {strain: 95 %%, load_limit: none, steps: 100000, find_critical: no}\n' > a.yaml
timeout --preserve-status 2 strutpress report a.yaml --out page.html --quiet
