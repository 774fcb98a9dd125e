# exit 0
# stdout ^coupon +solid, density 100 %, 28 x 24 x 20 mm, friction platens, no flaws
# stdout ^solid block of the same size, shape factor 0\.243 \(Gent & Lindley 1959\)$
# stdout ^  sliding platens +1874 +5756 +1\.22e\+04  N$
# stdout ^  bonded platens +2095 +6436 +1\.364e\+04  N$
# stdout ^  platens that hold by friction lie between$
# stdout ^  critical_strain +does not apply: a solid block has no struts$
# stdout ^  fibre_strain_max +not modelled: strains inside a bonded block$
# stdout ^shape factor of the block +0\.2431; between bonded platens the force is 1\.118 times
# stdout ^solid, density 100 % +1 +1 +1 +16\.13 +6436 +1$
# stdout ^one coupon for both patterns$
# stdout ^found a modulus$
# stdout ^  solid_share_25 +not modelled: no solid block for law yielding$
# stdout ^solid block of the same size: not modelled for law yielding$
# stderr material.law: received 'yielding'; valid: a law that is reversible
# stderr infill.density is 100 %: the coupon is the solid block, and infill.pattern square is not read
# present o/curve.csv
# present o/states.svg
# absent o/network.vtk
# absent o/mode.svg
# absent o/press.pvd
printf 'infill: {pattern: solid}\nplatens: {hold: friction, friction: 0.4}\npress: {load_limit: none}\n' > solid.yaml
strutpress press solid.yaml --out o --quiet || exit 1
strutpress check solid.yaml --out checked --quiet || exit 1
grep -q '>Solid block, unloaded</text>' checked/network.svg && [ ! -e checked/network.vtk ] || exit 1
grep -q 'Outline of the block' o/states.svg && grep -q 'sliding: law neo-hookean of a free bar' o/curve.svg || exit 1
cat > plan.yaml <<'PLAN'
case: {press: {strain: 25 %, steps: 25, find_critical: no, load_limit: none}}
axes:
  infill.pattern: [square, hexagonal, solid]
  infill.density: [20 %, 100 %]
PLAN
strutpress batch plan.yaml --store s.store --quiet || exit 1
strutpress compare s.store --measures solid_fraction,mass,force_25,solid_share_25 --out c --quiet | tee table.txt
[ "$(grep -c '^solid\|100 %' table.txt)" -ge 1 ] && [ "$(tail -n +2 c/compare.csv | wc -l)" = 3 ] && echo "one coupon for both patterns"
strutpress report s.store --out page.html --quiet > /dev/null && grep -q outline_mm page.html || exit 1
cat > target.yaml <<'TARGET'
base: solid.yaml
vary: {material.modulus: {from: 5 MPa, to: 50 MPa, within: 0.1 MPa}}
require: {force_25: {at_least: 2000 N, at_most: 2300 N}}
TARGET
strutpress seek target.yaml --store t.store --out answer --quiet > seek.txt && grep -q 'force_25' seek.txt && ls answer/*.yaml > /dev/null && echo "found a modulus"
printf '0.02 0.058\n0.05 0.115\n0.1 0.15\n0.3 0.2\n1 0.28\n' > soft.txt # invented
printf 'press: {strain: 5 %%, steps: 5, find_critical: no}\nmaterial: {law: yielding, table: soft.txt}\n' > yields.yaml
strutpress press yields.yaml --out y --quiet || exit 1
strutpress press yields.yaml --set infill.pattern=solid --out ys --quiet
[ $? = 3 ] && [ ! -e ys ] || exit 1
strutpress check solid.yaml --set infill.pattern=square --set infill.density=100% --quiet > /dev/null
