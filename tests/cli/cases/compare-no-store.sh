# exit 5
# no stdout
# one line
# stderr ^none.store: cannot be read: unable to open database file
# absent none.store
strutpress compare none.store
