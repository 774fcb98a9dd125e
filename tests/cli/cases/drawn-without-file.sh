# exit 3
# no stdout
# one line
# stderr ^a.yaml:2?:? ?.*infill.network: received 'nothing'
# absent out
printf 'infill:\n  pattern: drawn\n' > a.yaml
strutpress press a.yaml
