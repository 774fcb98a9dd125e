# exit 2
# one line
# stderr received --try with a mesh; valid: with a case
# no stdout
printf 'solid a\nendsolid a\n' > a.stl
strutpress check a.stl --try 1
