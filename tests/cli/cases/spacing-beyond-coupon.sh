# exit 3
# no stdout
# one line
# stderr received|infill
# absent out
printf 'coupon: {width: 10, height: 10}\ninfill: {density: 1 %%}\nbead: {width: 1, walls: 1}\n' > a.yaml
strutpress press a.yaml
