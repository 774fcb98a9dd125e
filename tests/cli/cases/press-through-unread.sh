# exit 0
# stderr caution: press.branches is not read: press.direction is not across
# stderr caution: joint.thickening is not read: press.direction is not across
# stderr caution: model.joint_zone is not read: press.direction is not across
cat > pad.yaml <<'END'
coupon: {width: 12 mm, height: 4 mm, depth: 12 mm}
infill: {pattern: square, density: 20 %, layers: 12}
joint: {thickening: 1.2}
model: {joint_zone: 0.7}
press: {direction: through, strain: 2 %, find_critical: no, branches: yes}
END
strutpress check pad.yaml
