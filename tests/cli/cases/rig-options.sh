# exit 0
# stdout ^specimen 1: 40 rows
# stdout largest force 78 N
# stdout contact at 0 mm
# stdout pressing is negative in the file \(travel, force\): turned
# stdout 3 cycles to 8.1, 8.2, 8.3 mm; cycle 2 is taken
# stdout recognised by how their values run
# stderr received the travel column 'elsewhere'; valid: a number from 1 to 4, u1, f1, u2, f2
# stderr received the force column '9'; valid
# stderr received specimen 3; valid: 1 .. 2
# stderr --machine-stiffness: received 'soft'
# stderr --area: received '100 mm2'
# present o/rig-1.csv
{ echo 'u1 [mm],f1 [N],u2 [mm],f2 [N]'
  for i in $(seq 0 39); do echo "0.$((100 + i)),$i,0.$((100 + i)),$((2 * i))"; done; } > two.csv
{ echo 'a b'
  for c in 1 2 3; do for i in $(seq 0 9) $(seq 8 -1 1); do echo "-$i.$c -$((i * 3))"; done; done; } > cycles.txt
strutpress rig two.csv --travel 3 --force f2 --zero contact --machine-stiffness '8000 N/mm' --out o || exit 1
strutpress rig two.csv --preload '3 N' --out p > preload.txt || exit 1
strutpress rig two.csv --starts-at '0.01 mm' --out q > starts.txt || exit 1
strutpress rig cycles.txt --cycle 2 --height '20 mm' --out r || exit 1
for refused in '--travel elsewhere' '--force 9' '--specimen 3' '--machine-stiffness soft'; do
    strutpress rig two.csv $refused && exit 1
done
strutpress rig two.csv --area '100 mm2' && exit 1
exit 0
