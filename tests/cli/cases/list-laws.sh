# exit 0
# no stderr
# stdout ^neo-hookean
# stdout ^tabulated
# stdout ^yielding
strutpress list laws
