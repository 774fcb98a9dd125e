# exit 6
# stderr cannot be made: Not a directory
printf 'coupon: {width: 12, height: 10}\n' > a.yaml
strutpress check a.yaml --out a.yaml
