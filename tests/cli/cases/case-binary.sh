# exit 3
# no stdout
# one line
# stderr ^x.yaml:1: received '(bytes that are not UTF-8|a binary file)'
cp "$(command -v program)" x.yaml; strutpress press x.yaml
