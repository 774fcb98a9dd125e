# exit 0
# stdout ^ticks enough$
# stdout ^stages$

# Qhull works for far longer than the 5 s that it is given here, without a word.
printf 'coupon: {width: 60 mm, height: 60 mm, depth: 60 mm}\ninfill: {pattern: voronoi-foam, cells: [40, 40, 40], density: 10 %%, regularity: 0}\n' > foam.yaml
timeout -s KILL 5 script -qec 'strutpress check foam.yaml' /dev/null | tr '\r' '\n' > told
seconds=$(grep -o 'random points ... [0-9]* s' told | sort -u | wc -l)
[ "$seconds" -ge 3 ] && echo "ticks enough" || cat told
printf 'coupon: {width: 30 mm, height: 30 mm, depth: 30 mm}\ninfill: {pattern: kelvin, cells: [10, 10, 10], density: 10 %%}\n' > kelvin.yaml
script -qec 'strutpress check kelvin.yaml' /dev/null | tr '\r' '\n' > told
grep -q 'measuring the volume of the struts ... ' told && grep -q 'meshing the struts ... ' told && echo stages || cat told
