# exit 7
# no stdout
# one line
# stderr a press of 1.82e\+06 struts, 256 elements each, needs about [0-9.]+e\+03 GB of memory, .* GB are free: fewer cells
# absent out
cat > cells.yaml <<YAML
coupon: {width: 300 mm, height: 300 mm, depth: 300 mm}
infill: {pattern: body-centred-cubic, cells: [60, 60, 60], strut_diameter: 0.6 mm}
model: {elements_per_strut: 256}
YAML
strutpress press cells.yaml --quiet --out out
