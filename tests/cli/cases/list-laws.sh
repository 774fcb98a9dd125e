# exit 0
# no stderr
# stdout ^neo-hookean
# stdout ^tabulated
strutpress list laws
