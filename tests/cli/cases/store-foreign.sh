# exit 0
# stdout ^8 refused$
# no stderr
printf 'case:\n  coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}\n  press: {strain: 2 %%, steps: 1, find_critical: no}\n' > p.yaml
for name in trigger huge-id; do
    cp "$REPO/tests/data/stores/$name.store" s.store
    before=$(sha256sum < s.store)
    for command in "compare s.store" "report s.store --out r.html" "gather s.store --store g.store" "batch p.yaml --store s.store"; do
        strutpress $command > said 2>&1
        [ $? = 5 ] && [ "$(wc -l < said)" = 1 ] && grep -q '^s.store: .*received .*valid: ' said &&
            [ "$before" = "$(sha256sum < s.store)" ] && echo refused
    done
done | sort | uniq -c | sed 's/^ *//'
