# exit 0
# stdout ^printed +flat: layers stacked along the height \(5 mm\); each is the pattern in the
# stdout ^pressed +along the height \(5 mm\), between platens on the 9 x 9 mm faces; this is along
# stdout ^network +12 walls, each a framework:
# stdout at [0-9.]+ % strain, [0-9.]+ N \(bifurcation
# stdout -> not given: walls that stand along the load carry on when they have buckled
# stdout ^beads to print$
# stderr press.direction: received 'along'; valid: across, because infill.pattern is spatial
cat > pad.yaml <<'CASE'
coupon: {width: 9 mm, depth: 9 mm, height: 5 mm}
infill: {pattern: square, angle: 0}
bead: {walls: 1}
press: {direction: along, strain: 7 %, steps: 20}
CASE
strutpress press pad.yaml --out o --quiet || exit 1
for f in network.svg states.svg mode.svg; do grep -q '<polygon fill="#' o/$f || exit 1; done
# the walls that the heading quotes are marked
grep -q 'numbered: largest shares' o/mode.svg && grep -q '<polygon fill="#0072b2"' o/mode.svg && grep -q 'largest shares of the mode: walls' o/network.svg || exit 1
[ -s o/network.vtk ] && [ -s o/network.3mf ] && echo "beads to print"
strutpress check pad.yaml --set infill.pattern=kelvin && exit 1
exit 0
