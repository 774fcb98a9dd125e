#!/usr/bin/env bash
# Reads what `strutpress mesh` writes with programs that are not ours: check.sh PROGRAM BUILD. 3MF with the reference library of
# the 3MF consortium in strict mode (no warning, closed, oriented), STL with admesh (no open edge, no degenerate or turned facet,
# the volume that the program says where shells do not overlap). The figures that the program's own reader of meshes prints for both
# files are compared with those.
set -euo pipefail
program=$1 build=$2
here=$(dirname "$(realpath "$0")")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
g++ -std=c++17 -I/usr/include/lib3mf -o "$build/read_3mf" "$here/read_3mf.cpp" -l3MF
failed=0

try() {
    local name=$1 volume read
    shift
    "$program" mesh "$@" --out "$work/$name" --quiet > "$work/$name.txt"
    "$build/read_3mf" "$work/$name/coupon.3mf" > "$work/$name.3mf.txt" || { cat "$work/$name.3mf.txt"; failed=1; }
    admesh "$work/$name/coupon.stl" > "$work/$name.admesh"
    awk '/Total disconnected|Degenerate facets|Backwards edges|Facets reversed|Normals fixed/ && $NF != 0 { bad = 1 } END { exit bad }' \
        "$work/$name.admesh" || { cat "$work/$name.admesh"; failed=1; }
    volume=$(sed -n 's/^volume  *\([0-9.e+]*\) mm3.*/\1/p' "$work/$name.txt")
    read=$(sed -n 's/.*Volume  *: *\([0-9.]*\).*/\1/p' "$work/$name.admesh")
    grep -q ' 1 closed shell$' "$work/$name.txt" &&
        { awk "BEGIN { exit !(($volume - $read) ^ 2 < 1e-6 * $read ^ 2) }" || { echo "$name: $volume mm3, admesh $read"; failed=1; }; }
    for file in coupon.stl coupon.3mf; do
        "$program" check "$work/$name/$file" --quiet > "$work/$name.own"
        grep -q '^surface *closed' "$work/$name.own" || { cat "$work/$name.own"; failed=1; }
        own=$(sed -n 's/^volume  *\([0-9.e+]*\) mm3.*/\1/p' "$work/$name.own")
        sum=$(sed -n 's/.*overlap, are \([0-9.e+]*\) mm3$/\1/p' "$work/$name.own")
        awk "BEGIN { exit !(($own - $volume) ^ 2 < 1e-6 * $own ^ 2 && (${sum:-$own} - $read) ^ 2 < 1e-6 * $read ^ 2) }" ||
            { echo "$name: $file, read back: $own mm3 (parts ${sum:-$own}), written $volume, admesh $read"; failed=1; }
    done
    echo "print $name: $(sed -n 's/^triangles *//p' "$work/$name.txt")"
}

demo=$here/../../docs/demo
for pad in foot-firm foot-soft transport-pad kelvin-pad; do try "$pad" "$demo/$pad.yaml"; done
try turned "$demo/foot-soft.yaml" --set infill.angle="17 deg"
try layers "$demo/foot-soft.yaml" --set infill.layers=4
try along "$demo/foot-soft.yaml" --set press.direction=along
try solid "$demo/foot-soft.yaml" --set infill.pattern=solid --set infill.density="100 %" --set infill.angle=0
try kagome "$demo/foot-soft.yaml" --set infill.pattern=kagome --set bead.walls=0
[ $failed = 0 ]
