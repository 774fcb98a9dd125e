# exit 0
# present o/curve.csv
# present o/network.3mf
# present o/mine.txt
# present o/state_900.vtu

# What the press before left goes, and nothing else: the last network to print is that of the last press.
printf 'coupon: {width: 12, height: 10}\npress: {strain: 2 %%, steps: 2, find_critical: no}\n' > flat.yaml
printf 'coupon: {width: 12, depth: 12, height: 12}\ninfill: {pattern: simple-cubic, cells: [1, 1, 1]}\npress: {strain: 2 %%, steps: 4, find_critical: no}\n' > space.yaml
strutpress press space.yaml --out o --quiet > /dev/null && [ -s o/network.3mf ] || exit 1
last=$(ls o/state_*.vtu | tail -n 1)
echo mine | tee o/mine.txt > o/state_900.vtu
cp o/network.3mf of-space.3mf
strutpress press flat.yaml --out o --quiet > /dev/null || exit 1
cmp -s of-space.3mf o/network.3mf && exit 1
[ ! -e "$last" ] || exit 1
[ "$(cat o/mine.txt o/state_900.vtu)" = "$(printf 'mine\nmine')" ]
