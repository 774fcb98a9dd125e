# exit 3
# no stdout
# one line
# stderr ^a.yaml:1: received
{ head -c 10000000 /dev/zero | tr '\0' x; printf ': 1\n'; } > a.yaml
strutpress press a.yaml
