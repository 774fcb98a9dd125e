# exit 0
# stdout ^cases      3 pressed now, 0 stored before; store out/compare.store$
# stdout ^soft \+ soft-2 +2 
# stdout ^firm +1 
# stdout ^cases      0 pressed now, 2 stored before; store out/compare.store$
# stdout ^cases      1 pressed now, 1 stored before; store mine/s.store$
# stdout ^Predictions for choosing coupons to print, not proof
# no stderr
# present out/compare.store
# present cmp/compare.csv
case_of() { printf 'coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}\ninfill: {density: %s}\npress: {strain: 10 %%, steps: 4, find_critical: no}\nflaws: {seed: %s}\n' "$1" "$2"; }
case_of 25% 1 > soft.yaml; case_of 25% 2 > soft-2.yaml; case_of 35% 1 > firm.yaml
strutpress compare soft.yaml firm.yaml soft-2.yaml --quiet --threads 2 --out cmp &&
strutpress compare soft.yaml firm.yaml --quiet &&
printf 'base: soft.yaml\n' > plan.yaml && strutpress batch plan.yaml --store mine/s.store --quiet &&
strutpress compare soft.yaml firm.yaml --store mine/s.store --quiet
