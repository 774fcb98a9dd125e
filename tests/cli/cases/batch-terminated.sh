# exit 130
# stdout ^plan +1 coupons
# stderr interrupted
# present s.store
printf 'case: {press: {strain: 95 %%, load_limit: none, steps: 100000, find_critical: no}}\n' > p.yaml
timeout --preserve-status 2 strutpress batch p.yaml --store s.store --quiet
