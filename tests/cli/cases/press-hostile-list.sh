# exit 6
# no stdout
# one line
# stderr ^o/.strutpress-files, line 2: received 'press ../keep.txt'; valid:
# present keep.txt
printf 'coupon: {width: 12, height: 10}\npress: {strain: 2 %%, steps: 2, find_critical: no}\n' > a.yaml
echo keep > keep.txt
mkdir o && printf 'strutpress files 1\npress ../keep.txt\n' > o/.strutpress-files
strutpress press a.yaml --out o --quiet
