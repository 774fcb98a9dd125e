# exit 0
# present o/.strutpress-files

# Version 0.6.0 wrote the same files and no list of them.
printf 'coupon: {width: 12, height: 10}\npress: {strain: 2 %%, steps: 2, find_critical: no}\n' > a.yaml
strutpress press a.yaml --out o --quiet > /dev/null || exit 1
rm o/.strutpress-files
strutpress press a.yaml --out o --quiet
