# exit 0
# stdout ^printed +flat: layers stacked along the height \(1.6 mm\); each has its own pattern in the
# stdout ^pressed +along the height \(1.6 mm\), between platens on the 6 x 6 mm faces; this is through the stack:
# stdout ^caution: Pressed through the stack beads are beams that squash where they cross
# stdout ^beads to print$
# stderr press.direction: received 'through'; valid: across or along, because the coupon has no layers
# stderr press.direction: received 'along'; valid: across or through, because the coupon has layers
# stderr infill.layers: received '2'; valid: 3 or more, because layers that are pressed through the stack
cat > pad.yaml <<'CASE'
coupon: {width: 6 mm, depth: 6 mm, height: 1.6 mm}
infill: {pattern: square, density: 25 %, layers: 4, layer_turn: 45}
bead: {walls: 0}
press: {direction: through, strain: 5 %, steps: 5, find_critical: no, seeds: 1}
CASE
strutpress press pad.yaml --out o --quiet | tr '\n' ' ' | sed 's/  */ /g; s/ \(printed\|pressed\|caution\)/\n\1/g'
[ -s o/network.vtk ] && [ -s o/network.3mf ] && echo && echo "beads to print"
strutpress check pad.yaml --set infill.layers=0 && exit 1
strutpress check pad.yaml --set press.direction=along && exit 1
strutpress check pad.yaml --set infill.layers=2 && exit 1
exit 0
