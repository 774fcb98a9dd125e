# exit 0
# stdout ^file +UTF-16
# stdout ^specimen 1: 40 rows
# no stderr
{ printf '試験 \xf0\x9f\x94\xa9 7\ntravel [mm];force [N]\n'
  for i in $(seq 0 39); do printf '%d.%d;%d\n' $((i / 10)) $((i % 10)) $((2 * i)); done; } > plain.txt
iconv -f UTF-8 -t UTF-16BE plain.txt > export.txt
strutpress rig export.txt || exit 1
iconv -f UTF-8 -t UTF-16 plain.txt > marked.txt
strutpress rig marked.txt > marked-table.txt || exit 1
cmp out/export/rig-1.csv out/marked/rig-1.csv
