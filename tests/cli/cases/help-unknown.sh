# exit 2
# no stdout
# one line
# stderr received 'presss'
strutpress help presss
