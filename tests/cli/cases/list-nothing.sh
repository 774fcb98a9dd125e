# exit 2
# no stdout
# one line
# stderr received 'nothing'; valid: patterns
strutpress list
