# exit 3
# no stdout
# one line
# stderr ^b.yaml:1: .*received '300 %'
# absent out
printf 'infill: {density: 30 %%}\n' > a.yaml
printf 'infill: {density: 300 %%}\n' > b.yaml
strutpress compare a.yaml b.yaml
