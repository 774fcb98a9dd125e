# exit 3
# one line
# stderr pad.yaml:4: press.protocol: received 'drop 2 from 300 mm'; valid: drop a mass
cat > pad.yaml <<'CASE'
infill:
  density: 20 %
press:
  protocol: [drop 2 from 300 mm]
CASE
strutpress check pad.yaml
