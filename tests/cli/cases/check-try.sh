# exit 0
# stdout ^forecast .* 9 of 10 such coupons take .* told by a coarse press of
# stdout ^a file of a plan is refused$
# stdout ^by itself it presses nothing$
# stderr received '0'; valid: 1 .. 86400
# stderr received --try with a plan; valid: with a case
cat > c.yaml <<'CASE'
coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
infill: {pattern: square, density: 25 %}
press: {strain: 12 %, find_critical: no}
CASE
printf 'base: c.yaml\naxes:\n  infill.density: [25 %%, 30 %%]\n' > plan.yaml
strutpress check c.yaml --quiet --try 20 || exit 1
strutpress check c.yaml --quiet | grep -q 'coarse' || echo "by itself it presses nothing"
strutpress check c.yaml --try 0
strutpress check plan.yaml --try 2 || echo "a file of a plan is refused"
exit 0
