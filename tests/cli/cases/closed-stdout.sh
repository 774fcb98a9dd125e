# exit 6
# one line
# stderr stdout cannot be written: Bad file descriptor
strutpress list laws >&-
