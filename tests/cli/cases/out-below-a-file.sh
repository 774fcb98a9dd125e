# exit 6
# stderr a.yaml: cannot be made: Not a directory|a.yaml/deep: cannot be made: Not a directory
printf 'coupon: {width: 12, height: 10}\n' > a.yaml
strutpress check a.yaml --out a.yaml/deep/er
