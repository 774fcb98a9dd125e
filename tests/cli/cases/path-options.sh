# exit 0
# stdout ^path +[0-9]+ layers
# stderr --layer-height: received '20 m'; valid: 0.01 to 10 mm
# stderr --speed: received '0'
# present o/coupon.path
cp $REPO/docs/demo/foot-firm.yaml .
strutpress path foot-firm.yaml --bed 220,220,250 --layer-height 0.3 --filament 2.85 --speed 30 --travel-speed 120 --out o --quiet || exit 1
strutpress path foot-firm.yaml --bed 220,220,250 --layer-height '20 m' && exit 1
strutpress path foot-firm.yaml --bed 220,220,250 --speed 0 && exit 1
exit 0
