# exit 3
# stderr infill.pattern: received 'honeycomb'.*\(did you mean 'hexagonal'\?\)
# stderr infill.density: received '30'.*\(did you mean '30 %'\?\)
# stderr infill.density: received '0,3'.*\(did you mean '0\.3'\?\)
# stderr material.shore_a: received '95A'.*\(did you mean '95'\?\)
# stderr coupon.width: received '3\.5in'.*\(did you mean '88\.9 mm'\?\)
# stderr plan.yaml:3: infill.density: received '30'.*\(did you mean '30 %'\?\)
# stderr target.yaml:2: infill.density: received '22'.*\(did you mean '22 %'\?\)
printf 'coupon: {width: 20}\n' > a.yaml
for slip in infill.pattern=honeycomb infill.density=30 infill.density=0,3 material.shore_a=95A coupon.width=3.5in; do
    strutpress check a.yaml --quiet --set $slip && exit 0
done
printf 'base: a.yaml\naxes:\n  infill.density: [20 %%, 30]\n' > plan.yaml
strutpress batch plan.yaml --quiet && exit 0
printf 'base: a.yaml\nvary: {infill.density: {from: 0.1, to: 22}}\nrequire: {force_25: {at_least: 1}}\n' > target.yaml
strutpress seek target.yaml --quiet
