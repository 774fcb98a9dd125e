#!/bin/bash
# Press a small coupon of every pattern to 60 % strain, hold it, release it and let it rest for a day, bonded and with friction on the
# platens, under a law with softening, relaxation and flow; fails where one does not come to its end.
#   benchmarks/physics/protocols.sh PROGRAM OUT.csv
set -eu
program=$(realpath "$1") out=$(realpath -m "$2")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
export OMP_NUM_THREADS=1
write() { # PATTERN PLATENS
    local size='width: 20 mm, height: 18 mm, depth: 15 mm' infill='density: 20 %'
    [ "${kind[$1]}" = spatial ] && size='width: 16 mm, height: 16 mm, depth: 16 mm' infill='density: 12 %, cells: [2, 2, 2]'
    cat > case.yaml <<CASE
coupon: {$size}
infill: {pattern: $1, $infill}
material:
  law: neo-hookean
  modulus: 30 MPa
  relaxation: {exponent: 0.05}
  softening: {ratio: 2, energy: 0.05 MPa}
  flow: {share: 0.2, stress: 0.3 MPa, time: 1000 s}
platens: {$2}
press: {load_limit: none, find_critical: no, protocol: [press to 60 % at 50 mm/min, hold for 10 min, release at 50 mm/min, rest for 24 h]}
flaws: {seed: 1}
CASE
}
declare -A kind
while IFS=, read -r name _ of _; do kind[${name//\"/}]=${of//\"/}; done < <("$program" list patterns --format csv | tail -n +2)
failed=0
echo "pattern,platens,stop,states,left_mm" > "$out"
for pattern in "${!kind[@]}"; do
    case "${kind[$pattern]} $pattern" in solid* | *drawn) continue ;; esac # these have no network, or need a file
    for platens in 'hold: bonded' 'hold: friction, friction: 0.3'; do
        write "$pattern" "$platens"
        stop=reached
        "$program" press case.yaml --seeds 1 --quiet --out out > /dev/null 2> error || stop=$(tail -n 1 error | tr , ';')
        grep -q 'the press ends\|gave up' error && stop=$(grep 'the press ends\|gave up' error | tail -n 1 | tr , ';')
        [ "$stop" = reached ] || failed=$((failed + 1))
        # The last column is how much shorter the coupon is after the rest [mm].
        tail -n 1 out/curve.csv | awk -F, -v p="$pattern" -v h="${platens#hold: }" -v s="$stop" \
            '{ gsub(",", ";", h); printf "%s,%s,%s,%d,%.4f\n", p, h, s, $1, $2 }' >> "$out"
        rm -rf out
    done
done
sort -o "$out.rows" <(tail -n +2 "$out")
{ head -n 1 "$out"; cat "$out.rows"; } > "$out.new"
mv "$out.new" "$out"
rm "$out.rows"
echo "$(($(wc -l < "$out") - 1)) presses, $failed did not come to their end"
[ $failed = 0 ]
