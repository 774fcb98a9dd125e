# exit 0
# no stderr
# stdout ^square +4\.4\.4\.4
# stdout ^hexagonal
# stdout ^kagome
# stdout ^drawn
# stdout ^spatial
# stdout ^kelvin +bitruncated-cubic
strutpress list patterns
