# exit 6
# one line
# stderr stdout cannot be written
strutpress --help > /dev/full
