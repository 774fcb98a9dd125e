# exit 5
# no stdout
# one line
# stderr gone.csv
# absent out
printf 'material: {law: tabulated, table: gone.csv}\n' > a.yaml
strutpress press a.yaml
