# exit 6
# stderr ^/proc/strutpress: cannot be made
strutpress check $REPO/docs/demo/foot-soft.yaml --out /proc/strutpress/x
