# exit 0
# stdout files: out/small/
# stderr ^strutpress [0-9.]+, [0-9.]+ s, peak memory [0-9]+ MiB$
# present out/small/curve.csv
printf 'coupon: {width: 12, height: 10}\npress: {strain: 5 %%, steps: 4, find_critical: no}\n' > small.yaml
strutpress press small.yaml
