# exit 130
# stderr interrupted
# present o/curve.csv
# present o/result.json
printf 'press: {strain: 95 %%, load_limit: none, steps: 100000, find_critical: no}\n' > long.yaml
strutpress press long.yaml --out o & # 100000 steps take far longer than the wait
sleep 2
kill -INT $!
wait $!
status=$?
[ "$(wc -l < o/curve.csv)" -gt 2 ] || exit 1
exit $status
