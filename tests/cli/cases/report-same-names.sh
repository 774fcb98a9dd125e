# exit 0
# stdout ^coupons    2, 2 with curves, 2 with their states$
mkdir a b
printf 'coupon: {width: 12, height: 10}\npress: {strain: 5 %%, steps: 3, find_critical: no}\n' > a/foot.yaml
sed 's/12/14/' a/foot.yaml > b/foot.yaml
strutpress report a/foot.yaml b/foot.yaml --out p.html --quiet
grep -q '"label":"a/foot"' p.html && grep -q '"label":"b/foot"' p.html
