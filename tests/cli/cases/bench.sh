# exit 0
# stdout ^bench +http://127[.]0[.]0[.]1:[0-9]+/[?]token=[0-9a-f]{32}$

# The bench answers until it is told to end, then ends well; a folder that is none is refused.
mkdir bench
strutpress bench bench > link & pid=$!
for i in $(seq 100); do [ -s link ] && break; sleep 0.1; done
kill -TERM $pid; wait $pid || exit 1
cat link
[ -s bench/bench.store ] || exit 1
strutpress bench nowhere 2> said && exit 1
grep -q "valid: the name of a folder that exists" said || exit 1
strutpress bench a b 2> said && exit 1
grep -q 'received 2 folders' said
