# exit 0
# present out/compare.csv
# no stderr
# stdout ^"'=HYPERLINK\(0\)"
# stdout ^"'@SUM\(1\)"
printf 'coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}\npress: {strain: 2 %%, steps: 1, find_critical: no}\n' > '=HYPERLINK(0).yaml'
{ cat '=HYPERLINK(0).yaml'; echo 'infill: {density: 30 %}'; } > '@SUM(1).yaml'
strutpress compare '=HYPERLINK(0).yaml' '@SUM(1).yaml' --quiet --out out > /dev/null &&
    cut -d, -f1 out/compare.csv
