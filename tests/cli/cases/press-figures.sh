# exit 0
# stdout ^figures asked for$
# stdout ^  force_at 25 % +[0-9.]+  N$
# stdout ^  shortening_at 3 N +[0-9.]+  mm$
# stdout ^  stiffness_at 10 % +-?[0-9.]+  N/mm$
# stdout ^  force_at 80 % +not reached$
# stderr press: --figures: received 'force_at 6 N'; valid: force_at and a number
# stderr did you mean 'stiffness_at'
printf 'coupon: {width: 11 mm, height: 9 mm}\npress: {strain: 30 %%, steps: 15, find_critical: no}\n' > pad.yaml
strutpress press pad.yaml --quiet --figures 'force_at 6 N'
[ $? = 2 ] && [ ! -e out ] || exit 1
strutpress press pad.yaml --quiet --figures 'stifness_at 6 %'
[ $? = 2 ] || exit 1
strutpress press pad.yaml --quiet --figures 'force_at 25 %, shortening_at 3 N,stiffness_at 10 %,force_at 80 %'
