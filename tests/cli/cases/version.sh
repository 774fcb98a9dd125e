# exit 0
# no stderr
# stdout ^strutpress [0-9]+\.[0-9]+\.[0-9]+$
# stdout libyaml
strutpress --version
