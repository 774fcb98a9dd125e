# exit 130
# one line
# stderr interrupted in the search for the critical step
# no stdout
# absent o
printf 'press: {strain: 95 %%, steps: 100000}\nmodel: {elements_per_strut: 64}\n' > long.yaml
strutpress press --quiet long.yaml --out o & # the search alone takes far longer than the wait
sleep 0.5
kill -INT $!
wait $!
