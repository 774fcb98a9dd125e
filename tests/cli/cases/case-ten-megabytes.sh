# exit 3
# no stdout
# one line
# stderr ^a.yaml:1: coupon.width: received 'x{60}\.\.\.'; valid: 
{ printf 'coupon: {width: '; head -c 10000000 /dev/zero | tr '\0' x; printf '}\n'; } > a.yaml
strutpress press a.yaml
