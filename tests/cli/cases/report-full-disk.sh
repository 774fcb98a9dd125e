# exit 6
# no stdout
# one line
# stderr ^\./page.html: cannot write: File too large$
# present page.html

# The page of before stays as it was.
printf 'coupon: {width: 12, height: 10}\npress: {strain: 1 %%, steps: 1, find_critical: no}\n' > a.yaml
echo old > page.html
trap '' XFSZ # a file size limit stands for a full disk
ulimit -f 1
strutpress report a.yaml --out page.html --quiet
status=$?
[ "$(cat page.html)" = old ] || exit 1
exit $status
