# exit 2
# no stdout
# one line
# stderr received --store with a store; valid: --store, --threads and --tested with case files
strutpress compare a.store --store b.store
