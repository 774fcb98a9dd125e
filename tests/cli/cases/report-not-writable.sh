# exit 6
# no stdout
# one line
# stderr ^a.yaml/page.html|^a.yaml: cannot be made: Not a directory
printf 'coupon: {width: 12, height: 10}\npress: {strain: 1 %%, steps: 1, find_critical: no}\n' > a.yaml
strutpress report a.yaml --out a.yaml/page.html --quiet
