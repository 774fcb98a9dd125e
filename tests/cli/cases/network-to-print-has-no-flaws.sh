# exit 0
# no stdout

# What goes to a printer is the coupon without flaws, whether it was pressed (with the search for the critical step, which builds
# it, or without) or only checked; the lines that were pressed have them.
printf 'coupon: {width: 12, height: 10}\nflaws: {missing: 10 %%, joint_offset: 10 %%}\npress: {strain: 1 %%, steps: 1, find_critical: no}\n' > a.yaml
strutpress check a.yaml --set flaws.seed=0 --out plain --quiet > /dev/null
strutpress check a.yaml --set flaws.seed=3 --out c --quiet > /dev/null
strutpress press a.yaml --set flaws.seed=3 --out p --quiet > /dev/null
strutpress press a.yaml --set flaws.seed=3 --set press.find_critical=yes --seeds 2 --out s --quiet > /dev/null
for folder in c p s; do
    cmp plain/network.3mf $folder/network.3mf || exit 1
    cmp -s plain/network.vtk $folder/network.vtk && exit 1
done
exit 0
