# exit 5
# no stdout
# one line
# stderr ^\.: is a folder
strutpress press .
