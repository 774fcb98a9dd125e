# exit 0
# no stderr
# stdout ^square +4\.4\.4\.4 +45 deg 
# stdout ^hexagonal +6\.6\.6 +0 deg 
# stdout ^kagome
# stdout ^drawn
# stdout ^spatial
# stdout ^kelvin +bitruncated-cubic
strutpress list patterns
