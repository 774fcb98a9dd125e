# exit 0
# stdout ^the hardness rows are printed$
# stdout ^the block gives its modulus back$
page=$REPO/docs/filament.md
printf 'coupon: {width: 20}\n' > a.yaml
sed -n '/^<!-- printed hardness/,/^<!-- end/p' "$page" | grep 'by hardness' > rows
[ "$(wc -l < rows)" -ge 10 ] || exit 1
while read -r shore scale words; do
    strutpress check a.yaml --quiet --set material.shore_${scale,}=$shore 2> /dev/null | grep -xF "$words" > /dev/null || { echo "not printed: $shore $scale $words"; exit 1; }
done < rows
echo 'the hardness rows are printed'
cat > block.yaml <<'CASE'
coupon: {width: 20, height: 20, depth: 20}
infill: {pattern: solid}
platens: {hold: sliding}
press: {strain: 10 %}
CASE
strutpress press block.yaml --quiet > table || exit 1
sed -n '/^<!-- printed block/,/^<!-- end/p' "$page" | grep platens > shown
[ "$(grep -cxFf shown table)" = 2 ] || exit 1
# the formula of the page: E = 3 F/A/(1/l^2 - l)
awk '$1 == "force_10" { e = 3 * $2 / 400 / (1 / 0.81 - 0.9); exit !(e > 29.98 && e < 30.02) }' table && echo 'the block gives its modulus back'
