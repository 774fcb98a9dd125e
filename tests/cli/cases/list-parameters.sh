# exit 0
# no stderr
# stdout ^infill.density +20 %
strutpress list parameters
