# exit 0
# stdout ^clean$
# no stderr
# present clean
cat > part <<'CASE'
coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}
press: {strain: 2 %, steps: 1, find_critical: no}
CASE
bad=$'e\e[31m\xc2\x9b31m\xe2\x80\xaeb\n'
case=$bad.yaml
plan=$bad-plan.yaml
cp part "$case"
{ echo case:; sed 's/^/  /' part; printf 'axes:\n  infill.pattern: [square, "x\\e[2J\\u202e"]\n'; } > "$plan"
{
    strutpress press "$case" --out "$bad"
    strutpress check "$case" --out "$bad"
    strutpress batch "$plan" --store "$bad.store"
    strutpress compare "$bad.store" --out "$bad"
    strutpress compare "$bad.store" --dump
    strutpress compare "$case" --store "$bad.2"
    strutpress gather "$bad.store" --store "$bad.3"
    strutpress report "$bad.store" --out "$bad.html"
    strutpress press "$case" --set "infill.pattern=$bad"
    strutpress compare "$bad"
    strutpress "$bad"
} > said 2>&1
[ "$(wc -l < said)" -gt 50 ] && ! LC_ALL=C grep -q $'[\x01-\x09\x0b-\x1f\x7f]\|\xc2[\x80-\x9f]\|\xe2\x80[\xa8-\xae]' said &&
    grep -q 'x1b.31m.u009b31m.u202eb.x0a.store' said && echo clean | tee clean
