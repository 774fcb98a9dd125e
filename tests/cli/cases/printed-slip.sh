# exit 5
# one line
# stderr ^bad.path:2: received 'G1 X5 EXTRA'; valid: words of ISO 6983
printf 'infill: {pattern: printed, toolpath: bad.path}\n' > case.yaml
printf 'G0 Z.2\nG1 X5 EXTRA\n' > bad.path
strutpress check case.yaml --quiet
