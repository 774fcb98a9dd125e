# exit 3
# no stdout
# one line
# stderr ogden
# absent out
printf 'material: {law: ogden}\n' > a.yaml
strutpress press a.yaml
