# exit 0
for c in $REPO/docs/demo/*.yaml; do strutpress check $c || exit; done
