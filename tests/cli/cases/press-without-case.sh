# exit 2
# no stdout
# one line
# stderr received no case file
strutpress press
