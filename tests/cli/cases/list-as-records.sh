# exit 0
# no stderr
# stdout ^name,alias,kind,angle_deg,doc$
# stdout ^"4.4.4.4","square","planar",
# stdout ^key,unit,default,range,doc$
# stdout ^name,unit,argument,doc$
# stdout ^"force_at","N","mm or %",
# stdout ^name,file,doc$
# stdout ^"curve-csv","curve.csv",
# stdout ^name,doc,segments$
# stdout "urethane-95a"
# stdout ^refused: 2$
for list in patterns parameters laws measures writers protocols; do
    strutpress list $list --format csv || exit 1
done
strutpress list filaments --format json || exit 1
strutpress list reference --format csv 2> told.txt
echo "refused: $?"
grep -q 'valid: with any other list' told.txt
