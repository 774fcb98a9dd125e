# exit 6
# one line
# stderr stdout cannot be written: No space left on device
strutpress list parameters > /dev/full
