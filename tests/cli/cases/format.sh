# exit 0
# stdout ^laws: 10 or more, neo-hookean among them$
# stdout ^settings and network$
# stdout ^coupon,infill.density,seeds,
# stdout ^two coupons$
# stdout ^curve,20 rows or more$
# stderr received '--format' with a plan|received --format with a plan; valid: with a case
# stderr --format: received 'xml'; valid: table, json, csv
# stderr received --figures with --format; valid: with the table
printf 'coupon: {width: 16 mm, height: 14 mm}\ninfill: {density: 15 %%}\npress: {strain: 8 %%, steps: 20, find_critical: no}\n' > a.yaml
sed 's/15 %/20 %/' a.yaml > b.yaml
printf 'base: a.yaml\naxes:\n  infill.density: [15 %%, 20 %%]\n' > plan.yaml
strutpress list laws --format csv | grep -q '^"neo-hookean",' && [ $(strutpress list laws --format csv | wc -l) -ge 9 ] && echo "laws: 10 or more, neo-hookean among them"
strutpress check a.yaml --format json --quiet | python3 -c 'import json, sys; d = json.load(sys.stdin); print(*sorted({r["part"] for r in d} & {"settings", "network"}, reverse=True), sep=" and ")'
strutpress compare a.yaml b.yaml --format csv --quiet > compared.csv || exit 1
head -n 1 compared.csv
strutpress compare a.yaml b.yaml --format json --quiet | python3 -c 'import json, sys; d = json.load(sys.stdin); print("two coupons" if [r["infill.density"] for r in d] == [0.15, 0.2] else d)'
strutpress press a.yaml --format csv --quiet > curve.csv && [ $(wc -l < curve.csv) -ge 20 ] && cmp -s curve.csv out/a/curve.csv && echo "curve,20 rows or more"
strutpress press a.yaml --format json --quiet | python3 -m json.tool > /dev/null || exit 1
strutpress check plan.yaml --format json && exit 1
strutpress press a.yaml --format xml && exit 1
strutpress press a.yaml --format csv --figures mass && exit 1
exit 0
