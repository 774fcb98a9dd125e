# exit 6
# stderr cannot (be written|write)
# present o/curve.csv

# A press that finds the disk full leaves the files of the press before as they were.
printf 'coupon: {width: 12, height: 10}\npress: {strain: 1 %%, steps: 1, find_critical: no}\n' > a.yaml
strutpress press a.yaml --out o > /dev/null 2>&1
cp -r o before
trap '' XFSZ
ulimit -f 1
strutpress press a.yaml --out o > /dev/null
status=$?
cmp o/network.svg before/network.svg && cmp o/curve.csv before/curve.csv || exit 1
exit $status
