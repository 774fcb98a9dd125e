# exit 0
# stdout ^longer tapers weigh more: 1$
cp $REPO/docs/demo/foot-soft.yaml .
mass() { strutpress check foot-soft.yaml --quiet --set infill.pattern=wavy --set joint.thickening=1.4 \
    --set joint.thickening_length="$1" 2> told.txt | sed -n 's/^mass  *\([0-9.]*\) g.*/\1/p'; }
short=$(mass 1) long=$(mass 8)
[ -n "$short" ] && [ -n "$long" ] || exit 1
echo "longer tapers weigh more: $(awk "BEGIN { print ($long > $short) }")"
