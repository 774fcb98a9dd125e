# exit 0
# stdout ^infill.strut_diameter +0\.90376[0-9]* mm +derived$
# stdout ^material.strain_state +uniaxial +derived$
# stdout ^nominal density achieved +10 %$
# stdout ^solid fraction, as union +8\.[0-9]+ %$
# stdout ^cells across the width +3$
# stdout ^struts +216 infill, 0 plate and frame, 91 joints$
# no stderr
printf 'coupon: {width: 20 mm, height: 20 mm, depth: 20 mm}\ninfill: {pattern: body-centred-cubic, density: 10 %%, cells: [3, 3, 3]}\nflaws: {seed: 0}\n' > case.yaml
strutpress check case.yaml --quiet
