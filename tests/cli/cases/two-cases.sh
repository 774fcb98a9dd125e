# exit 2
# no stdout
# one line
# stderr received 'b.yaml' after the case file
strutpress press a.yaml b.yaml
