# exit 3
# no stdout
# one line
# stderr ^a.yaml:1: bead.width: received '0'
# absent out
printf 'bead: {width: 0}\n' > a.yaml
strutpress press a.yaml
