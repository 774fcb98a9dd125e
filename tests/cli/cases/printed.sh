# exit 0
# stdout ^infill.toolpath +.*ladder.path
# stdout ^tool path  [0-9]+ lines, 64 moves that print, 8 layers; 8 are used, from layer 1 on
# stdout ^printed    12.4.* x 10.* x 1.6 mm, layers of 0.2 mm; 0 other pieces left out
# stdout ^struts .* [+-]0.[0-9]+ % from the metered filament
# stdout ^beads +0.4.* mm wide
# no stderr
# present o/network.svg
cat > case.yaml <<'CASE'
coupon: {width: 12.4 mm, height: 10.4 mm, depth: 1.6 mm}
infill: {pattern: printed, toolpath: ladder.path}
press: {strain: 10 %, steps: 10}
CASE
awk 'BEGIN {
    print "; a ladder\nG90\nM83"
    for (z = 1; z <= 8; z++) {
        printf "G0 Z%.1f\nG0 X50 Y50\nG1 X62 E.4\nG1 Y60 E.3333\nG1 X50 E.4\nG1 Y50 E.3333\n", 0.2 * z
        for (x = 52; x < 60; x += 2) printf "G0 X%d Y50\nG1 Y60 E.3333\n", x
    }
}' > ladder.path
strutpress check case.yaml --out o --quiet
