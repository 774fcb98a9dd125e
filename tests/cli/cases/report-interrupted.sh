# exit 130
# no stdout
# one line
# stderr ^interrupted: no page is written$
# absent page.html
printf 'press: {steps: 2000}\ninfill: {density: 30 %%}\n' > a.yaml
timeout -s INT 1 strutpress report a.yaml --out page.html --quiet
status=$?
[ $status = 124 ] && status=130
exit $status
