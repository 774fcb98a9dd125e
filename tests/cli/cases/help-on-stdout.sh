# exit 0
# no stderr
# stdout ^usage: strutpress COMMAND
# stdout no proof
# stdout ^  130 +interrupted
strutpress --help
