# exit 0
# stdout ^3 seeds of the flaws, from 4 on: median, lowest and highest$
# stdout ^  force_10 +[0-9.]+  N  \([0-9.]+ \.\. [0-9.]+\)$
# stdout ^medians agree$
# stdout ^one seed of the flaws; --seeds 5 presses five
# stderr received '0'; valid: 1 .. 99
# stderr received --seeds; valid: with press
cat > c.yaml <<'CASE'
coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
infill: {pattern: square, density: 25 %}
press: {strain: 12 %, steps: 8, find_critical: no}
flaws: {seed: 4}
CASE
strutpress press c.yaml --out all --seeds 3 --quiet || exit 1
told=$(sed -n '/"seeds"/,/"hardness"/p' all/result.json | grep -A 3 '"force_10"' | sed -n 's/.*"median": *\([0-9.e+-]*\).*/\1/p')
for seed in 4 5 6; do
  strutpress press c.yaml --out "one$seed" --set flaws.seed=$seed --quiet | tee "table$seed" | awk '$1 == "force_10" {print $2}' >> single
done
grep '^one seed' table4
middle=$(sort -g single | sed -n 2p)
awk -v a="$told" -v b="$middle" 'BEGIN {d = a - b; if (d < 0) d = -d; exit !(a > 0 && d <= 1e-3 * a)}' && echo "medians agree" || echo "told $told, middle $middle"
strutpress press c.yaml --seeds 0
strutpress check c.yaml --seeds 2
exit 0
