# exit 0
for c in $REPO/docs/demo/*.yaml; do
    case $c in *-plan.yaml | *-target.yaml | *-tested.yaml) continue ;; esac # these are for batch, seek and calibrate
    strutpress check $c || exit
done
