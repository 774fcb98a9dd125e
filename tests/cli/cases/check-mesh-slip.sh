# exit 4
# one line
# stderr ^bad.stl:3: received 'vertax'; valid: vertex$
# no stdout
printf 'solid a\nfacet normal 0 0 1 outer loop\nvertax 0 0 0\n' > bad.stl
strutpress check bad.stl --quiet
