# exit 0
# present out/...yaml/curve.csv
# present out/..yaml/curve.csv
# present out/.yaml/curve.csv
# absent curve.csv
# absent out/curve.csv

# Without their ending these names would be ".", ".." and nothing.
for name in ...yaml ..yaml .yaml; do
    printf 'coupon: {width: 12, height: 10}\npress: {strain: 2 %%, steps: 2, find_critical: no}\n' > "$name"
    strutpress press "$name" --quiet > /dev/null || exit 1
done
