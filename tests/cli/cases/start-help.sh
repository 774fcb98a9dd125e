# exit 0
# no stderr
# stdout ^usage: strutpress start FOLDER$
# stdout ^  pad.yaml +a case
strutpress start --help
