# exit 5
# no stdout
# one line
# stderr gone.vtk
# absent out
printf 'infill: {pattern: drawn, network: gone.vtk}\n' > a.yaml
strutpress press a.yaml
