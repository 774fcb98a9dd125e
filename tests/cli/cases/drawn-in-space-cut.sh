# exit 0
# stderr ^caution: .*foot-basket.vtk: the drawing of 24 x 24 x 24 mm is cut to 20 x 24 x 24 mm$
printf 'coupon: {width: 20, height: 24, depth: 24}\ninfill: {pattern: drawn, network: %s}\n' \
    "$REPO/meshes/foot-basket.vtk" > a.yaml
strutpress check a.yaml
