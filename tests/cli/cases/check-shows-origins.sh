# exit 0
# stdout ^coupon.width +28 mm +line 3$
# stdout ^infill.density +15 % +set$
# stdout ^press.steps +280 +default$
# stdout ^solid fraction
# stdout ^cells across the width
# stdout ^slenderness, median
# absent out
strutpress check $REPO/docs/demo/foot-soft.yaml --set infill.density=15%
