# exit 5
# no stdout
# one line
# stderr ^material.table: .*none.csv: cannot be read: No such file or directory; valid: a readable file
printf 'case:\n  material: {law: tabulated, table: none.csv}\n' > p.yaml
strutpress batch p.yaml
