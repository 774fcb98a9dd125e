# exit 0
# no stdout

# The page holds the numbers of curve.csv.
printf 'coupon: {width: 12, height: 10}\npress: {strain: 5 %%, steps: 3, find_critical: no}\n' > a.yaml
strutpress press a.yaml --out o --quiet > /dev/null
strutpress report a.yaml --out a.html --quiet > /dev/null
csv=$(tail -n +2 o/curve.csv | cut -d, -f3 | paste -sd,)
page=$(grep -o '"curve":{"force_N":\[[^]]*' a.html | cut -d[ -f2 | sed 's/\.0\(,\|$\)/\1/g')
[ -n "$csv" ] && [ "$csv" = "$page" ] || { echo "$csv"; echo "$page"; exit 1; }
