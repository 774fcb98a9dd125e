# exit 2
# no stdout
# one line
# stderr received 'b.store' after the store; valid: one store .`strutpress gather`
strutpress compare a.store b.store
