# exit 0
# stdout ^path +100 layers, [0-9]+ unbroken lines$
# stdout ^nozzle reaches +x 10.21 to 37.79, y 20.21 to 43.79, z to 20 mm$
# stdout ^file: o/coupon.path$
# stdout ^1 G21$
# stderr ^strutpress path: --bed is missing; valid: the reach of the machine in mm, as --bed 220,220,250; see: strutpress help path$
# stderr ^the path would leave the bed: the coupon reaches from 0 to 28 mm along x; valid: within 0 to 27 mm$
# stderr kelvin-pad.yaml:7: infill.pattern: received 'kelvin'; valid: a planar pattern
# stderr --bed: received '220'; valid: three lengths in mm
# present o/coupon.path
# absent p
cp $REPO/docs/demo/foot-firm.yaml $REPO/docs/demo/kelvin-pad.yaml .
strutpress path foot-firm.yaml --bed 220,220,250 --corner 10,20 --out o --quiet || exit 1
grep -c . o/coupon.path > /dev/null && echo "$(grep -c '^G21$' o/coupon.path) G21"
grep -q "This file moves a machine" o/coupon.path || exit 1
strutpress path foot-firm.yaml --out p && exit 1
strutpress path foot-firm.yaml --bed 220 --out p && exit 1
strutpress path foot-firm.yaml --bed 27,220,250 --corner 0,0 --out p && exit 1
strutpress path kelvin-pad.yaml --bed 220,220,250 --out p && exit 1
exit 0
