# exit 2
# no stdout
# one line
# stderr ^strutpress gather: received no --store; valid: --store and a file name
strutpress gather s.store
