# exit 3
# one line
# stderr case.yaml:1: infill.density: received '90 %'; valid: at most [0-9.]+ % or [0-9.]+ mm of diameter
printf 'infill: {pattern: bitruncated-cubic, cells: [3, 3, 3], density: 90 %%}\n' > case.yaml
strutpress check case.yaml
