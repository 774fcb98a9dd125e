# exit 0
# stdout ^size +28 x 24 x 20 mm$
# stdout ^triangles +[0-9]+ in 1 closed shell$
# stdout ^volume +[0-9.]+ mm3, [0-9.]+ g$
# stdout ^files: out/foot-firm/coupon.3mf, out/foot-firm/coupon.stl$
# stdout ^struts in space: 240 closed shells, beams beside them$
# stdout ^wider is heavier$
# stderr --width-scale: received '0'; valid: a factor from 0.2 to 5
# present out/foot-firm/coupon.3mf
# present out/foot-firm/coupon.stl
cp $REPO/docs/demo/foot-firm.yaml $REPO/docs/demo/kelvin-pad.yaml .
strutpress mesh foot-firm.yaml || exit 1
strutpress mesh kelvin-pad.yaml --out k --quiet | sed -n 's/^triangles .* in \([0-9]* closed shells\)/struts in space: \1, beams beside them/p'
mass() { sed -n 's/^volume .* \([0-9.]*\) g$/\1/p'; }
plain=$(strutpress mesh foot-firm.yaml --quiet | mass)
wide=$(strutpress mesh foot-firm.yaml --quiet --width-scale 1.2 | mass)
awk "BEGIN { exit !($wide > 1.1 * $plain) }" && echo "wider is heavier"
strutpress mesh foot-firm.yaml --quiet > /dev/null
strutpress mesh foot-firm.yaml --width-scale 0 && exit 1
exit 0
