# exit 0
# stdout ^mesh +binary STL, [0-9]+ triangles, [0-9]+ corners, 1 connected part$
# stdout ^size +28 x 24 x 20 mm, 1 of the file taken as 1 mm$
# stdout ^surface +closed:
# stdout ^volume +[0-9.]+ +[0-9.]+ +[+-]0.00 %  mm3$
# stdout ^struts in space: within 0.[0-9]+ %, [+-]0.0[0-9] % from the body of the case$
# stdout ^surface +open at 3 edges, such as
# stderr ^caution: the mesh and the body of the case are more than 0.5 % apart
# stderr check: received --out with a mesh
# stderr check: received --case with a file that is no mesh
# stderr press: received --case; valid: with check of a mesh
cp $REPO/docs/demo/foot-soft.yaml $REPO/docs/demo/kelvin-pad.yaml .
strutpress mesh foot-soft.yaml --out f --quiet > /dev/null || exit 1
strutpress mesh kelvin-pad.yaml --out k --quiet > /dev/null || exit 1
strutpress check f/coupon.stl --case foot-soft.yaml --quiet || exit 1
strutpress check k/coupon.3mf --case kelvin-pad.yaml --quiet > kelvin || exit 1
echo "struts in space: $(sed -n 's/^volume .*\(within [0-9.]* %\).*/\1/p' kelvin), $(sed -n 's/^volume .* \([+-][0-9.]* %\)  mm3$/\1/p' kelvin) from the body of the case"
strutpress check f/coupon.3mf --case foot-soft.yaml --set bead.width=0.5 --quiet > /dev/null || exit 1
printf 'solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid\n' > one.stl
strutpress check one.stl --quiet || exit 1
strutpress check one.stl --out o && exit 1
strutpress check foot-soft.yaml --case foot-soft.yaml && exit 1
strutpress press foot-soft.yaml --case foot-soft.yaml && exit 1
exit 0
