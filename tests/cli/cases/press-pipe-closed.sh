# exit 6
# stderr stdout cannot be written: Broken pipe
# present o/curve.csv

# Who reads the table stops reading: the files are written.
printf 'coupon: {width: 12, height: 10}\npress: {strain: 2 %%, steps: 2, find_critical: no}\n' > a.yaml
mkfifo pipe
(exec < pipe) &
strutpress press a.yaml --out o --quiet > pipe
