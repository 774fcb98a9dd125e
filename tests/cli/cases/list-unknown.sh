# exit 2
# no stdout
# one line
# stderr received 'pattern'; valid: patterns
strutpress list pattern
