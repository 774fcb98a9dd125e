# exit 6
# stderr ^o/network.svg: belongs to the results of `press` there; valid: another folder$
printf 'coupon: {width: 12, height: 10}\npress: {strain: 2 %%, steps: 2, find_critical: no}\n' > a.yaml
strutpress check a.yaml --out o --quiet > /dev/null || exit 1
strutpress press a.yaml --out o --quiet > /dev/null || exit 1 # takes the place of the network alone
cp -r o before
strutpress check a.yaml --out o --quiet --set infill.pattern=triangular > /dev/null
status=$?
diff -r o before >&2 || exit 1
exit $status
