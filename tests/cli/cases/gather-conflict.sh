# exit 9
# stdout ^gathered   0 coupons of wrong.store, 0 there before, 1 with other figures$
# stdout ^gathered   1 coupons of other.store, 0 there before$
# stderr ^caution: coupon [0-9a-f]{32} of wrong.store differs from the one in s.store: the curves differ; each keeps its own$
# stderr ^1 coupons have other figures in s.store; valid: the same figures
press() { # NAME DENSITY
    printf 'case:\n  coupon: {width: 10 mm, height: 8 mm}\n  infill: {density: %s}\n  press: {strain: 10 %%, steps: 4}\n' "$2" > p.yaml
    strutpress batch p.yaml --store "$1" --quiet > /dev/null
}
press s.store 30%
press other.store 35%
# the last strain, 0.1 as a double with its lowest byte first, one unit in the last place up
LC_ALL=C sed 's/\x9a\x99\x99\x99\x99\x99\xb9\x3f/\x9b\x99\x99\x99\x99\x99\xb9\x3f/g' s.store > wrong.store
strutpress gather wrong.store other.store --store s.store
