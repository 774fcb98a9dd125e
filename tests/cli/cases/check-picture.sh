# exit 0
# stdout ^picture +o/p/network.svg$
# stdout ^network +o/p/network.vtk$
# present o/p/network.svg
# present o/p/network.vtk
# present o/p/network.3mf
strutpress check $REPO/docs/demo/foot-soft.yaml --out o/p
