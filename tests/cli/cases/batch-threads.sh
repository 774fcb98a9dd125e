# exit 2
# no stdout
# one line
# stderr --threads: received '0'; valid: 1 .. 1024
strutpress batch p.yaml --threads 0
