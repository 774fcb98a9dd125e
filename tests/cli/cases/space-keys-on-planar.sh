# exit 0
# stderr caution: infill.cells_x is not read: infill.pattern square is planar
# stderr caution: infill.side_frames is not read: infill.pattern square is planar
printf 'infill: {pattern: square, cells_x: 4, side_frames: yes}\n' > case.yaml
strutpress check case.yaml
