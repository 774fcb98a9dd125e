# exit 3
# no stdout
# one line
# stderr ^a.yaml:3: bead.walls: received 'the same key again'; valid: once only, it stands on line 2
# absent out
printf 'bead:\n  walls: 1\n  walls: 1\n' > a.yaml
strutpress press a.yaml
