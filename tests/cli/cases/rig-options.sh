# exit 0
# stdout ^specimen 2: 40 rows
# stdout ^files: o/
# present o/rig-1.csv
# stderr --machine-stiffness: received 'soft'
{ echo 'u1 [mm],f1 [N],u2 [mm],f2 [N]'
  for i in $(seq 0 39); do echo "0.$((100 + i)),$i,0.$((100 + i)),$((2 * i))"; done; } > two.csv
strutpress rig two.csv --specimen 2 --cycle 1 --zero file --travel 3 --force 4 --height '20 mm' --area '100 mm2' \
    --machine-stiffness '8000 N/mm' --out o || strutpress rig two.csv --specimen 2 --zero file --machine-stiffness '8000 N/mm' --out o || exit 1
strutpress rig two.csv --preload '3 N' --out p > /dev/null || exit 1
strutpress rig two.csv --starts-at '0.11 mm' --machine-curve two.csv --out q > /dev/null
strutpress rig two.csv --machine-stiffness soft && exit 1
exit 0
