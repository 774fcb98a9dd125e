# exit 0
# stdout ^file +Latin-1 .*semicolons, decimal comma
# stdout ^ +2 +Kraft \[kN\]: force, times 1000
# stdout ^specimen 1: 40 rows
# stdout ^ +zero +as in the file
# stdout ^ +curve +40 points to 3.9 mm, largest force 78 N
# stdout ^files: out/export/
# no stderr
# present out/export/rig.svg
# present out/export/rig.json
# present out/export/rig-1.csv
{ printf 'Pr\374fling 7\nWeg [mm];Kraft [kN]\n'
  for i in $(seq 0 39); do printf '%d,%d;0,%03d\n' $((i / 10)) $((i % 10)) $((2 * i)); done; } > export.txt
strutpress rig export.txt
