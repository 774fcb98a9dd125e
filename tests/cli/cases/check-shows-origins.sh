# exit 0
# stdout ^coupon.width +28 mm +line 3$
# stdout ^infill.density +15 % +set$
# stdout ^press.steps +140 +default$
# stdout ^solid fraction
# stdout ^periods, \[1, 0\] and \[0, 1\] +\([0-9.]+, [0-9.]+\) and \(-[0-9.]+, [0-9.]+\) mm$
# stdout ^cells across the width
# stdout ^slenderness, median
# absent out
strutpress check $REPO/docs/demo/foot-soft.yaml --set infill.density=15%
