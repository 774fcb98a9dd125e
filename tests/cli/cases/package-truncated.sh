# exit 4
# no stdout
# one line
# stderr ^.*short.3mf: received 'no archive: .*'; valid: a zip archive that holds a 3MF model, complete$
head -c 1000 "$REPO/meshes/foot-basket.3mf" > short.3mf
printf 'infill: {pattern: drawn, network: short.3mf}\n' > a.yaml
strutpress check a.yaml
