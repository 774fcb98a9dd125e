# exit 5
# no stdout
# one line
# stderr Not a directory
touch a; strutpress check a/b.yaml
