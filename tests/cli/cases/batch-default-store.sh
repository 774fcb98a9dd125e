# exit 0
# stdout ^store      out/p.store
# present out/p.store
# absent out/p.store-wal
printf 'case:\n  coupon: {width: 10 mm, height: 8 mm}\n  infill: {density: 30 %%}\n  press: {strain: 5 %%, steps: 4}\n' > p.yaml
strutpress batch p.yaml --threads 1
