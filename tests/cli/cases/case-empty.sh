# exit 3
# no stdout
# one line
# stderr ^a.yaml:1: received 'an empty file'; valid: a case with
# absent out
printf '' > a.yaml
strutpress press a.yaml
