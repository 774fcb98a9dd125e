# exit 2
# stderr --heights: received '300'; valid: up to 6
strutpress cushion pad.yaml --heights 300
