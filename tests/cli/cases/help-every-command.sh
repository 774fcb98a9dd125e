# exit 0
# no stderr
for c in start press check mesh path batch gather compare rig seek calibrate cushion report bench list help; do strutpress help $c | grep -q "^usage: strutpress $c" || exit 1; strutpress $c --help | grep -q "^usage: strutpress" || exit 1; done
