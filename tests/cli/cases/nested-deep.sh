# exit 3
# no stdout
# one line
# stderr ^a.yaml:
head -c 1000000 /dev/zero | tr '\0' '[' > a.yaml
strutpress press a.yaml
