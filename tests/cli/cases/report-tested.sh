# exit 2
# stdout ^page +page.html
# stderr ^strutpress report: received --tested with a store; valid: --tested with case files \(.yaml\)
# stdout ^the row is not off the curve that was pressed$
printf 'coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}\ninfill: {density: 25%%}\npress: {strain: 10 %%, steps: 4, find_critical: no}\n' > soft.yaml
strutpress press soft.yaml --seeds 1 --quiet > /dev/null &&
awk -F, 'NR == 1 { print "shortening_mm,force_N" } NR > 1 { print $2 "," $3 }' out/soft/curve.csv > foot.csv &&
strutpress report soft.yaml --tested foot.csv --seeds 1 --out page.html --quiet &&
grep -q '"label":"tested: foot.csv"' page.html &&
strutpress compare soft.yaml --tested foot.csv --quiet --format csv | awk -F, '
    NR == 1 { for (i = 1; i <= NF; i++) if ($i == "tested_misfit_median") column = i }
    NR == 2 && $column < 1e-6 { print "the row is not off the curve that was pressed" }' &&
strutpress report out/compare.store --tested foot.csv --quiet
