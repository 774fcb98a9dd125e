# exit 6
# no stdout
# one line
# stderr ^o/curve.csv: exists and is not a file of strutpress
printf 'coupon: {width: 12, height: 10}\npress: {strain: 2 %%, steps: 2, find_critical: no}\n' > a.yaml
mkdir o && echo measured > o/curve.csv
strutpress press a.yaml --out o --quiet
status=$?
[ "$(cat o/*)" = measured ] || exit 1
exit $status
