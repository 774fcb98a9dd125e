# exit 0
# stdout ^measures; band: between the beams' curve and the solid block's$
# stdout ^  force_10 +[0-9.]+ \.\. [0-9.]+  N  \(band\)$
# stdout ^  initial_stiffness +[0-9.]+ \.\. [0-9.]+  N/mm  \(band\)$
# stdout ^  final_force +[0-9.]+ \.\. [0-9.]+  N  \(band\)$
# stdout ^  this coupon / bonded block +1[0-9.]+ +- +-  %$
# stdout ^caution: At 10 % strain the beams carry 1[0-9]+ % of what the solid block does
# stdout ^drawn and kept$
# stdout ^no band of an open infill$
cat > dense.yaml <<'CASE'
coupon: {width: 16 mm, height: 14 mm, depth: 10 mm}
infill: {density: 80 %}
press: {strain: 11 %, steps: 44, find_critical: no, load_limit: none}
CASE
strutpress press dense.yaml --out o --quiet || exit 1
grep -q 'band between the curve of the beams' o/curve.svg && grep -q 'clip-path="url(#pressed)"' o/curve.svg &&
    grep -A 5 '"force_10"' o/result.json | grep -q '"band"' && echo "drawn and kept"
strutpress press dense.yaml --set infill.density='30 %' --set press.strain='5 %' --set press.steps=5 --out open --quiet > open.txt || exit 1
grep -q '(band)' open.txt open/curve.svg || ! grep -q 'solid block of the same size' open/curve.svg || echo "no band of an open infill"
