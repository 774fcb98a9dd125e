# exit 0
# present one/curve.csv

# The result does not depend on the number of threads; the elements are so many that threads are used.
cat > many.yaml <<'Y'
coupon: {width: 12, height: 10}
press: {strain: 3 %, steps: 3, find_critical: no}
model: {elements_per_strut: 256}
Y
OMP_NUM_THREADS=1 strutpress press --quiet many.yaml --out one > one.txt
OMP_NUM_THREADS=2 strutpress press --quiet many.yaml --out two > two.txt
[ "$(wc -l < one/curve.csv)" -gt 3 ] && cmp one/curve.csv two/curve.csv && cmp one/states.svg two/states.svg
