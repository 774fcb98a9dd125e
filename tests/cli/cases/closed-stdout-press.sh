# exit 6
# stderr stdout cannot be written
# present o/curve.csv
printf 'coupon: {width: 12, height: 10}\npress: {strain: 1 %%, steps: 1, find_critical: no}\n' > small.yaml
strutpress press small.yaml --out o >&-
status=$?
grep -qE '^(network|measures|files)' o/* && echo "the table went into a file" >&2 && exit 1
exit $status
