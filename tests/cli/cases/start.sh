# exit 6
# stdout ^next: cd first && strutpress press pad.yaml$
# stdout ^files: out/pad/$
# stdout ^18 coupons wanted$
# stdout ^2 of 2 candidates reach the target
# stderr ^first/pads-plan.yaml: exists already and is left as it is; valid: another folder$
# one line
# absent first/pad.yaml
strutpress start first || exit 1
cd first
strutpress press pad.yaml --quiet || exit 1
[ -z "$(strutpress check pad.yaml --quiet 2>&1 > /dev/null)" ] || exit 1
strutpress batch pads-plan.yaml --quiet | grep -q '^plan  *18 coupons' && echo '18 coupons wanted'
strutpress seek pads-target.yaml --quiet || exit 1
rm -r out pad.yaml pads-target.yaml
echo mine > pads-plan.yaml
cd ..
strutpress start first
status=$?
[ "$(cat first/pads-plan.yaml)" = mine ] || exit 1
exit $status
