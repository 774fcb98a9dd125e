# exit 0
# stdout ^store      :memory:$
# stdout ^gathered   1 coupons of :memory:, 0 there before$
# present :memory:
# present file:x?mode=memory
# absent x
printf 'case:\n  coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}\n  press: {strain: 2 %%, steps: 1, find_critical: no}\n' > p.yaml
strutpress batch p.yaml --store :memory: --quiet &&
strutpress gather :memory: --store 'file:x?mode=memory'
