# exit 2
# no stdout
# one line
# stderr received no command; valid: start, press, check, mesh, path, batch, gather, compare, rig, seek, calibrate, cushion, report, bench, list, help
strutpress
