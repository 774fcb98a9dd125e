# exit 0
# no stderr
# stdout ^plateau_stress +MPa
# stdout ^critical_strain
strutpress list measures
