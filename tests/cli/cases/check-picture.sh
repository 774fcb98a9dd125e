# exit 0
# stdout ^picture +o/p/network.svg$
# present o/p/network.svg
strutpress check $REPO/docs/demo/foot-soft.yaml --out o/p
