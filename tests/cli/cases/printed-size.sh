# exit 3
# one line
# stderr valid: coupon: \{width: 9, height: 9.* mm, depth: 0.2 mm\}|valid: coupon: \{width: 9
printf 'infill: {pattern: printed, toolpath: a.path}\n' > case.yaml
printf 'M83\nG0 Z.2\nG1 X9 E.3\nG1 Y9 E.3\nG1 X0 E.3\nG1 Y0 E.3\n' > a.path
strutpress check case.yaml --quiet
