# exit 0
# stdout ^  set_strain +0\.0[1-9]
# stdout ^  instant_set +0\.[1-9]
# stdout ^  energy_returned +[0-9.]+  mJ
# stdout ^  energy_kept +0\.[1-9]
# stdout ^goes down and up again$
# present o/states.svg
printf '0.02 0.058\n0.05 0.115\n0.1 0.15\n0.3 0.2\n1 0.28\n' > soft.txt # invented
cat > c.yaml <<'CASE'
coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}
bead: {walls: 1}
material: {law: yielding, table: soft.txt}
press: {strain: 20 %, steps: 20, find_critical: no, unload: yes}
CASE
strutpress press c.yaml --out o --quiet || exit 1
grep -q 'the way back: ' o/curve.svg && grep -q 'after the way back: strain' o/states.svg || exit 1
awk -F, 'NR > 2 {down += $2 > last; up += $2 < last} {last = $2} END {exit !(down > 15 && up > 15 && $3 < 0.01)}' o/curve.csv && echo "goes down and up again"
