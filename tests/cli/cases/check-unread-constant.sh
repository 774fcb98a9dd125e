# exit 0
# stderr ^caution: material.c10 is not read by law neo-hookean
strutpress check $REPO/docs/demo/foot-soft.yaml --set material.c10=1
