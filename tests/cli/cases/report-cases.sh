# exit 0
# stdout ^coupons    2, 2 with curves, 2 with their states$
# stdout ^page       out/a.html, 0\.[0-9] MB$
# present out/a.html
printf 'coupon: {width: 12, height: 10}\npress: {strain: 5 %%, steps: 3, find_critical: no}\n' > a.yaml
sed 's/12/14/' a.yaml > b.yaml
strutpress report a.yaml b.yaml --quiet
