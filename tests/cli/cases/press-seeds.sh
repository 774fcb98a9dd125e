# exit 0
# stdout ^seeds      3 presses, flaw seeds 4 to 6; figures are their medians
# stdout ^           pictures are those of seed 4, which the case names$
# stdout ^  force_10 +[0-9.]+  N  \([0-9.]+ \.\. [0-9.]+\)$
# stdout ^  force_at 2 mm? +[0-9.]+  N
# stdout ^medians agree$
# stdout ^curve of the named seed$
# stdout ^seeds      one seed of the flaws was pressed; --seeds 5 presses five
# stdout ^five by default$
# stdout ^one where all seeds are alike$
# stderr ^forecast +5 presses \(flaw seeds 1 to 5\) on [0-9]+ core
# stderr ^forecast +one press: 5 flaw seeds, which would say how far figures scatter
# stderr received '0'; valid: 1 .. 99
# stderr received --seeds; valid: with press
cat > c.yaml <<'CASE'
coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
infill: {pattern: square, density: 25 %}
press: {strain: 12 %, steps: 8, find_critical: no}
flaws: {seed: 4}
CASE
sed 's/flaws: .*//' c.yaml > unnamed.yaml
strutpress press c.yaml --out all --seeds 3 --quiet --figures "force_at 1 mm" | sed 's/force_at 1 mm/force_at 2 mm/' || exit 1
told=$(grep -A 2 '"force_10"' all/result.json | sed -n 's/.*"value": *\([0-9.e+-]*\).*/\1/p')
for seed in 4 5 6; do
  strutpress press c.yaml --out "one$seed" --set flaws.seed=$seed --quiet | tee "table$seed" | awk '$1 == "force_10" {print $2}' >> single
done
cmp -s all/curve.csv one4/curve.csv && echo "curve of the named seed"
grep '^seeds  ' table4
middle=$(sort -g single | sed -n 2p)
awk -v a="$told" -v b="$middle" 'BEGIN {d = a - b; if (d < 0) d = -d; exit !(a > 0 && d <= 1e-3 * a)}' && echo "medians agree" || echo "told $told, middle $middle"
program press unnamed.yaml --out five > five.txt || exit 1
grep -q 'flaw seeds 1 to 5' five/curve.svg && grep -q '"count": 5' five/result.json && grep -q 'nearest the medians' five.txt && echo "five by default"
program press unnamed.yaml --out none --set flaws.bow=0 --set flaws.thickness_scatter=0 --set flaws.joint_offset=0 | grep -q '^seeds' || echo "one where all seeds are alike"
program press unnamed.yaml --out long --set press.steps=100000 --set coupon.width=200 --set coupon.height=150 > long.txt &
sleep 0.7
kill -INT $!
wait $!
strutpress press c.yaml --seeds 0
strutpress check c.yaml --seeds 2
exit 0
