# exit 0
# no stderr
# stdout ^usage: strutpress COMMAND
strutpress -h
