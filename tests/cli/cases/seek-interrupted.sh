# exit 130
# no stdout
# one line
# stderr ^interrupted: [0-9]+ presses of this search are stored; the same command goes on
# present s.store
# absent o
printf 'case:\n  press: {strain: 95 %%, load_limit: none, steps: 100000, find_critical: no}\nvary:\n  infill.density: {from: 10 %%, to: 20 %%}\nrequire:\n  force_25: {at_least: 3 N}\n' > t.yaml
strutpress seek t.yaml --store s.store --out o --quiet & # 100000 steps take far longer than the wait
sleep 2
kill -INT $!
wait $!
