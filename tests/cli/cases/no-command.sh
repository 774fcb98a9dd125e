# exit 2
# no stdout
# one line
# stderr received no command; valid: start, press, check, batch, gather, compare, seek, calibrate, report, list, help
strutpress
