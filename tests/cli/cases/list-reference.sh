# exit 0
# no stderr
# stdout ^# Reference
# stdout ^\| material.strain_state \| plane_strain \| plane_strain \\\| uniaxial
strutpress list reference
