# exit 0
# stdout ^printed +layers stacked along the depth \(60 mm\); each is the pattern in the plane of width and height$
# stdout ^pressed +along the height \(8 mm\), between platens on the 100 x 60 mm faces; this is in the plane of the layers
# stdout ^printed +layers stacked along the depth \(20 mm\); each has its own pattern
# stdout ^printed +struts in space; the way their beads are laid is not modelled$
# stderr Flat coupon: it is taken as printed 60 mm tall, standing on its 100 x 8 mm side
# stdout ^one caution, of the flat one$
# stdout ^pictures say and draw it$
cat > flat.yaml <<'CASE'
coupon: {width: 100 mm, height: 8 mm, depth: 60 mm}
infill: {density: 30 %, angle: 0}
CASE
cat > space.yaml <<'CASE'
coupon: {width: 20 mm, height: 9 mm, depth: 20 mm}
infill: {pattern: kelvin, cells: [2, 1, 2], density: 8 %}
CASE
echo 'infill: {layers: 4}' > layers.yaml
for c in flat space layers; do strutpress check $c.yaml --out $c 2> $c.txt || exit 1; cat $c.txt >&2; done
[ "$(grep -c 'Flat coupon' flat.txt space.txt layers.txt | tr '\n' ' ')" = "flat.txt:1 space.txt:0 layers.txt:0 " ] && echo "one caution, of the flat one"
strutpress press flat.yaml --set press.strain='2 %' --set press.steps=4 --set press.find_critical=no --out o --quiet > table.txt || exit 1
grep -q '^pressed    along the height (8 mm)' table.txt && grep -q '^caution: Flat coupon' table.txt || exit 1
grep -q '"printed": "layers stacked' o/result.json && grep -q '"Flat coupon: ' o/result.json || exit 1
for p in flat/network.svg o/network.svg o/states.svg; do grep -q 'Printed: layers stacked' $p && grep -q '>layers</text>' $p && grep -q '>pressed</text>' $p || exit 1; done
grep -q '>layers</text>' space/network.svg && exit 1
strutpress report flat.yaml --set press.strain='2 %' --out page.html --quiet > /dev/null 2>&1 || strutpress report space.yaml --out page.html --quiet > /dev/null || exit 1
grep -q '"pressed": *"along the height' page.html && grep -q '"sketch": *"PD94bWwg' page.html && echo "pictures say and draw it"
