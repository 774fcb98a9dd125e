# exit 2
# no stdout
# one line
# stderr received 'squeeze'; valid: start, press, check, mesh, path, batch, gather, compare, rig, seek, calibrate, cushion, report, bench, list, help
strutpress squeeze x.yaml
