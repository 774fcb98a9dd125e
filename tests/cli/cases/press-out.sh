# exit 0
# no stderr
# present deep/er/curve.csv
# absent out
printf 'coupon: {width: 12, height: 10}\npress: {strain: 1 %%, steps: 1, find_critical: no}\n' > small.yaml
strutpress press --quiet small.yaml --out deep/er
