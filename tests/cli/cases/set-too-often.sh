# exit 2
# no stdout
# one line
# stderr received --set more than 64 times
strutpress check x.yaml $(yes -- --set=a.b=c | head -70)
