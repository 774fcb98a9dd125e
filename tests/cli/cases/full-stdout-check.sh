# exit 6
# stderr stdout cannot be written
strutpress check $REPO/docs/demo/foot-soft.yaml > /dev/full
