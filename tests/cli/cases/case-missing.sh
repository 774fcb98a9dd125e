# exit 5
# no stdout
# one line
# stderr ^nowhere.yaml: cannot be read: No such file or directory; valid: 
# absent out
strutpress press nowhere.yaml
