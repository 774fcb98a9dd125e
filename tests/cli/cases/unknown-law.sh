# exit 3
# no stdout
# one line
# stderr ^a.yaml:2: material.law: received 'yoeh'; valid: .*\(did you mean 'yeoh'\?\)
# absent out
printf 'material:\n  law: yoeh\n' > a.yaml
strutpress press a.yaml
