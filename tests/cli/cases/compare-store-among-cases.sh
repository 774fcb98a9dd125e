# exit 2
# no stdout
# one line
# stderr received 's.store' among case files; valid: names that end in .yaml
strutpress compare a.yaml s.store
