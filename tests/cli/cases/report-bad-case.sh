# exit 3
# no stdout
# one line
# stderr ^b.yaml:1: infill.density: received '150 %'
# absent out
printf 'coupon: {width: 12, height: 10}\n' > a.yaml
printf 'infill: {density: 150 %%}\n' > b.yaml
strutpress report a.yaml b.yaml --quiet
