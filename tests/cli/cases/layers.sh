# exit 0
# stdout ^infill.layers +3 +line 1$
# stdout ^struts +[0-9]+ infill, [0-9]+ wall, [0-9]+ joints$
# stdout ^network +o/network.3mf$
# present o/network.3mf
printf 'infill: {layers: 3, layer_pattern: hexagonal}\n' > a.yaml
strutpress check a.yaml --out o
