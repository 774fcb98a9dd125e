# exit 0
# stdout ^forecast .* 9 of 10 such coupons take .* found by a coarse press of
# stdout ^a short press is found from the case alone$
# stdout ^a long one is pressed coarsely$
# stdout ^--try 0 presses nothing$
# stdout ^"forecast","seconds_tried",[0-9.e-]*[1-9][0-9.e-]*,"s",""$
# stdout ^a file of a plan is refused$
# stderr received '-1'; valid: 0 .. 86400
# stderr received --try with a plan; valid: with a case
cat > c.yaml <<'CASE'
coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
infill: {pattern: square, density: 25 %}
press: {strain: 12 %, find_critical: no}
CASE
printf 'base: c.yaml\naxes:\n  infill.density: [25 %%, 30 %%]\n' > plan.yaml
strutpress check c.yaml --quiet --try 20 || exit 1
strutpress check c.yaml --quiet --try 20 --format csv | grep seconds_tried
strutpress check c.yaml --quiet | grep -q 'found from the case alone' && echo "a short press is found from the case alone"
long="--set press.strain=70% --set press.steps=7000 --set infill.density=45%"
strutpress check c.yaml --quiet $long | grep -q 'coarse press' && echo "a long one is pressed coarsely"
strutpress check c.yaml --quiet $long --try 0 | grep -q 'found from the case alone' && echo "--try 0 presses nothing"
strutpress check c.yaml --try -1
strutpress check plan.yaml --try 2 || echo "a file of a plan is refused"
exit 0
