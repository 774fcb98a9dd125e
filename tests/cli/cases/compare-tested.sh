# exit 2
# stdout ^beside foot.csv: root mean square of what a curve is off, over the mean stress$
# stdout ^  soft +0\.0 %   to 10 % strain$
# stderr ^received --tested with coupons of two sizes, 10 x 8 x 5 mm and 12 x 8 x 5 mm; valid: coupons of the size of the tested part$
# present cmp/curves.svg
case_of() { printf 'coupon: {width: %s mm, height: 8 mm, depth: 5 mm}\ninfill: {density: 25%%}\npress: {strain: 10 %%, steps: 4, find_critical: no}\n' "$1"; }
case_of 10 > soft.yaml; case_of 12 > wide.yaml
strutpress press soft.yaml --seeds 1 --quiet > /dev/null &&
awk -F, 'NR == 1 { print "shortening_mm,force_N" } NR > 1 { print $2 "," $3 }' out/soft/curve.csv > foot.csv &&
strutpress compare soft.yaml --tested foot.csv --quiet --out cmp &&
strutpress compare soft.yaml wide.yaml --tested foot.csv --quiet
