# exit 2
# no stdout
# one line
# stderr received 'squeeze'; valid: start, press, check, batch, gather, compare, seek, calibrate, report, list, help
strutpress squeeze x.yaml
