# exit 0
# stdout fall from 50 mm: by energy least
# stdout nothing is lost while loading
# present out/pad/cushion.svg
cat > pad.yaml <<'CASE'
coupon: {width: 14 mm, height: 12 mm, depth: 5 mm}
bead: {walls: 1}
press: {strain: 40 %, steps: 60}
CASE
strutpress cushion pad.yaml --heights "50 mm" --masses "20 g" --out out/pad 2> /dev/null && grep -q "^50,drop,0.02," out/pad/cushion.csv
