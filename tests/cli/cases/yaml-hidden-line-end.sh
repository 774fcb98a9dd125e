# exit 0
# stdout ^6 refused$
# no stderr
refuse() { # NAME, what is said
    strutpress check $1 > out 2> said
    [ $? = 3 ] && [ ! -s out ] && [ "$(wc -l < said)" = 1 ] && grep -q "^$1:1: received '.*$2'; valid: lines that end with a line feed" said && echo refused
}
printf '# harmless \xe2\x80\xa8infill: {density: 90 %%}\ncoupon: {width: 10 mm}\n' > ls.yaml
printf '# harmless \xe2\x80\xa9infill: {density: 90 %%}\ncoupon: {width: 10 mm}\n' > ps.yaml
printf '# harmless \xc2\x85infill: {density: 90 %%}\ncoupon: {width: 10 mm}\n' > nel.yaml
printf '# harmless \rinfill: {density: 90 %%}\ncoupon: {width: 10 mm}\n' > cr.yaml
printf 'case: {}\n' > plan.yaml
{ refuse ls.yaml U+2028; refuse ps.yaml U+2029; refuse nel.yaml U+0085; refuse cr.yaml alone
  for command in batch seek; do
      strutpress $command ls.yaml > out 2> said; [ $? = 3 ] && grep -q 'received .*U+2028' said && echo refused
  done; } | sort | uniq -c | sed 's/^ *//'
