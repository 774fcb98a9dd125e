# exit 3
# no stdout
# one line
# stderr ^a.yaml:2: infill.pattern: received 'kagmoe'; valid: .*\(did you mean 'kagome'\?\)
# absent out
printf 'infill:\n  pattern: kagmoe\n' > a.yaml
strutpress press a.yaml
