# exit 6
# stderr cannot (be written|write)
printf 'coupon: {width: 12, height: 10}\npress: {strain: 1 %%, steps: 1, find_critical: no}\n' > a.yaml
trap '' XFSZ
ulimit -f 1
strutpress press a.yaml --out o > /dev/null
