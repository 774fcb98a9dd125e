# exit 2
# no stdout
# one line
# stderr received --dump with case files; valid: --dump with a store
strutpress compare a.yaml --dump
