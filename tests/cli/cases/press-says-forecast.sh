# exit 0
# stdout ^forecast   [u0-9].* MB on a workstation core
# stdout ^forecast   2 coupons to press: [u0-9]
printf 'press: {strain: 5 %%, steps: 4}\n' > c.yaml
printf 'base: c.yaml\naxes:\n  infill.density: [20 %%, 25 %%]\n' > p.yaml
strutpress press c.yaml 2>&1 > table && strutpress batch p.yaml 2>&1 > report
