# exit 3
# no stdout
# one line
# stderr ^t.yaml:5: require: received 'forc_25'; valid: .*did you mean 'force_25'
# absent out
printf 'case: {}\nvary:\n  infill.density: {from: 10 %%, to: 20 %%}\nrequire:\n  forc_25: {at_least: 3 N}\n' > t.yaml
strutpress seek t.yaml
