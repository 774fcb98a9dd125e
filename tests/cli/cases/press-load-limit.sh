# exit 0
# stdout ^  force_50 +not reached: the load limit of 20 N ended the press at [0-9.]+ % strain$
# stdout ^  set_strain +not modelled: law neo-hookean gives all back$
# stdout ^stopped    load limit reached
# stdout ^a: plateau_end, force_50 not reached: the load limit of 20 N ended the press at [0-9.]+ % strain$
# stdout ^      misses the target: force_50 is not reached: the load limit of 20 N ended the press at
# stdout ^no limit unless given$
# stdout ^six figures in the page$
printf 'coupon: {width: 12, height: 10, depth: 5}\nbead: {walls: 1}\ninfill: {density: 30 %%}\npress: {steps: 30, strain: 50 %%, find_critical: no, load_limit: 20 N}\n' > a.yaml
strutpress press a.yaml --out a --quiet || exit 1
grep -q '"reason": "not reached: the load limit of 20 N ended the press at' a/result.json || exit 1
strutpress compare a.yaml --store s.store --out c --measures plateau_end,force_50,force_10 --quiet || exit 1
grep -q 'plateau_end: not reached: the load limit of 20 N' c/compare.csv || exit 1
strutpress report s.store --out page.html --quiet > /dev/null || exit 1
[ "$(grep -o 'the load limit of 20 N ended the press' page.html | wc -l)" -ge 6 ] && echo 'six figures in the page'
printf 'base: a.yaml\nvary: {infill.density: {from: 28 %%, to: 30 %%, within: 1 %%}}\nrequire: {force_50: {at_least: 10 N}}\n' > t.yaml
strutpress seek t.yaml --quiet || exit 1
printf 'coupon: {width: 12, height: 10, depth: 5}\n' > b.yaml
strutpress check b.yaml --quiet 2> /dev/null | grep -q '^press.load_limit  *none  *default$' && echo 'no limit unless given'
