# exit 0
# stdout ^plan +6 coupons$
# stdout ^cannot be built +4, for these reasons:$
# stdout ^  coupon 1 and 3 more: .*infill.density.*do not fit
# stdout ^forecast +[0-9.]+ s of processor time; .* on [0-9]+ thread
# stdout ^longest press +coupon (5|6): 
# no stderr
# absent out
cat > p.yaml <<'PLAN'
case:
  coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}
axes:
  infill.density: [3 %, 4 %, 40 %]
seeds: 2
PLAN
strutpress check --quiet p.yaml
