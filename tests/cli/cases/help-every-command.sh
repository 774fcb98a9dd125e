# exit 0
# no stderr
for c in press check batch compare seek calibrate cushion report list help; do strutpress help $c | grep -q "^usage: strutpress $c" || exit 1; strutpress $c --help | grep -q "^usage: strutpress" || exit 1; done
