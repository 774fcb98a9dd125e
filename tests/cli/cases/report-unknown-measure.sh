# exit 2
# no stdout
# one line
# stderr ^--measures: received 'stiffnes'; valid: a name of `list measures`
# absent page.html
printf 'press: {steps: 100000, strain: 95 %%}\n' > a.yaml # would press for minutes
strutpress report a.yaml --measures stiffnes --out page.html --quiet
