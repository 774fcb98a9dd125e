# exit 0
for c in $REPO/docs/demo/*.yaml; do
    case $c in *-plan.yaml) continue ;; esac # plans are for batch
    strutpress check $c || exit
done
