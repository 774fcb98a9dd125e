# exit 2
# no stdout
# one line
# stderr --mass: received '3 g'; valid: grams above 0
strutpress compare s.store --mass "3 g"
