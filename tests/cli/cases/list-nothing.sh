# exit 2
# no stdout
# one line
# stderr received no word; valid: patterns
strutpress list
