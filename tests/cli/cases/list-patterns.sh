# exit 0
# no stderr
# stdout ^square +4\.4\.4\.4
# stdout ^hexagonal
# stdout ^kagome
# stdout ^drawn
strutpress list patterns
