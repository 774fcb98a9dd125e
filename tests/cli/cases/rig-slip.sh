# exit 2
# no stdout
# stderr --zero: received 'somewhere'; valid: auto, file, contact or toe
strutpress rig export.txt --zero somewhere
