# exit 0
# stdout ^plan       1 coupons in share 1 of 4$
# stdout ^store      out/p.2-of-4.store
# stdout ^plan       0 coupons in share 4 of 4$
# stdout ^gathered   1 coupons of out/p.1-of-4.store, 0 there before$
# stdout ^gathered   0 coupons of out/p.4-of-4.store, 0 there before$
# stdout ^gathered   0 coupons of out/p.2-of-4.store, 1 there before$
# stdout ^pressed    0 now, 3 stored before$
# no stderr
cat > p.yaml <<'PLAN'
case:
  coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}
  press: {strain: 10 %, steps: 6, find_critical: no}
axes:
  infill.density: [25 %, 30 %, 35 %]
PLAN
for share in 1 2 3 4; do strutpress batch p.yaml --share $share/4 --quiet; done
strutpress gather out/p.?-of-4.store --store all.store &&
strutpress gather out/p.?-of-4.store --store all.store &&
strutpress batch p.yaml --store all.store --quiet &&
strutpress batch p.yaml --quiet &&
strutpress compare out/p.store --dump > local && strutpress compare all.store --dump | cmp - local
