# exit 0
# no stderr
# stdout ^curve-csv +curve.csv
# stdout ^result-json +result.json
strutpress list writers
