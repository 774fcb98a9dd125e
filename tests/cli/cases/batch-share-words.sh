# exit 2
# no stdout
# one line
# stderr --share: received 'a/b'; valid: I/N, share I = 1 .. N of N shares
# absent out
printf 'case: {}\n' > p.yaml
strutpress batch p.yaml --share a/b
