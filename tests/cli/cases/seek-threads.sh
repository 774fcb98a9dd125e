# exit 2
# no stdout
# one line
# stderr --threads: received 'many'; valid: 1 .. 1024
strutpress seek t.yaml --threads many
