# exit 3
# no stdout
# stderr ^p.yaml:4: infill.offset_x: received 'infill.offset_x beside infill.offset'; valid: once only in all axes
# stderr ^q.yaml:3: infill.offset_y: received 'the same key again'; valid: once only
# stderr ^r.yaml:3: bead.walls: received 'the same key again'; valid: once only in all axes
# absent out
printf 'case: {}\naxes:\n  infill.offset: [[0,0],[0.3,0]]\n  infill.offset_x: [0.1,0.2]\n' > p.yaml
printf 'case:\n  infill: {offset: [0, 0],\n    offset_y: 0.1}\n' > q.yaml
printf 'case: {}\naxes:\n  bead.walls + bead.walls: [[1, 2]]\n' > r.yaml
strutpress batch p.yaml
strutpress batch q.yaml
strutpress batch r.yaml
