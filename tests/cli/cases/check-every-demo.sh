# exit 0
for c in $REPO/docs/demo/*.yaml; do
    case $c in *-plan.yaml | *-target.yaml) continue ;; esac # these are for batch and seek
    strutpress check $c || exit
done
