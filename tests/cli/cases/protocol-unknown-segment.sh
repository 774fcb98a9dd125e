# exit 3
# one line
# stderr pad.yaml:4: press.protocol: received 'squeeze to 50 %'; valid: press, hold
cat > pad.yaml <<'CASE'
infill:
  density: 20 %
press:
  protocol: [press to 20 %, squeeze to 50 %]
CASE
strutpress check pad.yaml
