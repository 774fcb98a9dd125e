# exit 3
# no stdout
# one line
# stderr ^case.yaml:2: bead.width_offset: received '-0.41 mm'; valid: an offset that leaves a twentieth of every strut \(the thinnest is drawn 0.[0-9]+ mm\)$
printf 'infill: {density: 20 %%}\nbead: {width_offset: -0.41 mm}\n' > case.yaml
strutpress check case.yaml --quiet
