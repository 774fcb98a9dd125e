# exit 130
# stderr interrupted
# present o/curve.csv
printf 'press: {strain: 95 %%, load_limit: none, steps: 100000, find_critical: no}\n' > long.yaml
strutpress press long.yaml --out o & # 100000 steps take far longer than the wait
sleep 2
kill -INT $!
wait $!
