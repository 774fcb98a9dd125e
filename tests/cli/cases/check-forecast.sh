# exit 0
# stdout ^forecast +[0-9.]+ (s|min) and [0-9]+ MB on a workstation core
# stdout most of it: [0-9]+ struts
# no stderr
strutpress check --quiet --set 'infill.density=55 %' --set 'coupon.width=60 mm' $REPO/docs/demo/foot-soft.yaml 2> cautions
