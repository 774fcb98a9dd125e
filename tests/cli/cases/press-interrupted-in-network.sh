# exit 130
# one line
# stderr ^interrupted while .*, before the press; there is no curve
# no stdout
# absent o
printf 'coupon: {width: 900 mm, height: 900 mm, depth: 20 mm}\nbead: {width: 0.4 mm}\ninfill: {pattern: random-cells, density: 20 %%}\n' > large.yaml
strutpress press --quiet large.yaml --out o & # its network alone takes far longer than the wait
sleep 0.5
kill -TERM $!
wait $!
