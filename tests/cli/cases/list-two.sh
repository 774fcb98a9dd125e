# exit 2
# no stdout
# one line
# stderr received 'laws' and more
strutpress list laws patterns
