# exit 0
# no stderr
# stdout ^usage: strutpress press CASE.yaml
# stdout --set
strutpress help press
