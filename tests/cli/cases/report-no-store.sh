# exit 5
# no stdout
# one line
# stderr ^none.store: cannot be read: unable to open database file
# absent out
strutpress report none.store --quiet
