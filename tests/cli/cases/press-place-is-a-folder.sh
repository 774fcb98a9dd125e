# exit 6
# no stdout
# one line
# stderr ^o/states.svg: cannot write: Is a directory$

# A folder in the place of one file: it is seen before anything is pressed, and no file of the set before is replaced.
printf 'coupon: {width: 12, height: 10}\npress: {strain: 2 %%, steps: 2, find_critical: no}\n' > a.yaml
strutpress press a.yaml --out o --quiet > /dev/null || exit 1
rm o/states.svg && mkdir o/states.svg && cp -r o before
strutpress press a.yaml --out o --quiet --set press.steps=3
status=$?
diff -r o before >&2 || exit 1
exit $status
