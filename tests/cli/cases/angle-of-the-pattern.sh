# exit 0
# stdout ^infill.angle +45 deg +derived$
# stdout ^infill.angle +0 deg +derived$
# stdout ^infill.angle +30 deg +set$
# stdout ^the same coupon$
printf 'coupon: {width: 12, height: 10, depth: 5}\nbead: {walls: 1}\npress: {strain: 5 %%, steps: 4, find_critical: no}\ninfill: {density: 30 %%}\n' > a.yaml
strutpress check a.yaml --quiet 2> /dev/null || exit 1
strutpress check a.yaml --quiet --set infill.pattern=hexagonal 2> /dev/null || exit 1
strutpress check a.yaml --quiet --set infill.angle=30 2> /dev/null || exit 1
strutpress press a.yaml --quiet --out usual > /dev/null || exit 1
strutpress press a.yaml --quiet --out given --set infill.angle=45 > /dev/null || exit 1
cmp usual/curve.csv given/curve.csv || exit 1
strutpress press a.yaml --quiet --out hexagons --set infill.pattern=hexagonal > /dev/null || exit 1
strutpress press a.yaml --quiet --out upright --set infill.pattern=hexagonal --set infill.angle=0 > /dev/null || exit 1
cmp hexagons/curve.csv upright/curve.csv || exit 1
sed 's/^infill: {/&angle: 45 deg, /' a.yaml > b.yaml
strutpress compare a.yaml b.yaml --quiet --store s.store --out c | grep -q '^cases      1 pressed' && echo 'the same coupon'
