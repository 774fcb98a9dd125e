# exit 2
# no stdout
# one line
# stderr --share: received '5/4'; valid: I/N, share I = 1 .. N of N shares
# absent out
printf 'case: {}\n' > p.yaml
strutpress batch p.yaml --share 5/4
