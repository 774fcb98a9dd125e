# exit 0
# stdout ^struts +120 infill, .* 48 joints$
# stdout ^material.strain_state +uniaxial +derived$
# stdout ^network +o/network.3mf$
# present o/network.3mf
# present o/network.vtk
printf 'coupon: {width: 24, height: 24, depth: 24}\ninfill: {pattern: drawn, network: %s}\nflaws: {seed: 0}\n' \
    "$REPO/meshes/foot-basket.3mf" > a.yaml
strutpress check a.yaml --out o && sed "s/network: .*3mf/network: o\/network.3mf/" a.yaml > b.yaml &&
    strutpress check b.yaml > again && grep -q '120 infill, .* 48 joints' again
