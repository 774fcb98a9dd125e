# exit 2
# no stdout
# one line
# stderr received no command; valid: press, check, batch, gather, compare, seek, calibrate, report, list, help
strutpress
