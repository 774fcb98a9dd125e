#!/bin/bash
# Show how much the constants of the rules for which segments press on each other (docs/theory.md, E12) matter: the two feet of the
# demo, five flaw seeds each, pressed by programs that are built with one constant of src/mechanics/contact/rules.c changed.
# usage: rules.sh WORK; builds in the folder WORK, writes rules.csv beside this file and its table into docs/theory.md.
set -euo pipefail
here=$(realpath "$(dirname "$0")") root=$(realpath "$(dirname "$0")/../..")
mkdir -p "${1:?usage: rules.sh WORK}" && work=$(realpath "$1")
rm -rf "$work/tree" && mkdir -p "$work/tree"
(cd "$root" && tar cf - --exclude=./build --exclude=./.git --exclude=./out .) | tar xf - -C "$work/tree"
rules=src/mechanics/contact/rules.c
row="constant,value,coupon,force_50_N,force_65_N,force_65_low_N,force_65_high_N"

# press NAME VALUE PROGRAM: one row for either foot, medians with the lowest and highest of five seeds.
press() {
    local foot
    for foot in foot-soft foot-firm; do
        "$3" press "$root/docs/demo/$foot.yaml" --quiet --seeds 5 --set press.find_critical=no --out "$work/out" |
            awk -v line="$1,$2,$foot" '
                $1 == "force_50" { line = line "," $2 }
                $1 == "force_65" { gsub(/[()]/, ""); line = line "," $2 "," $4 "," $6 }
                END { print line }'
    done
}

# build NAME VALUE: the program with this constant.
build() {
    cp "$root/$rules" "$work/tree/$rules"
    sed -i -E "s/^(static const double $1 = )[-0-9.]+;/\1$2;/" "$work/tree/$rules"
    make -C "$work/tree" --no-print-directory -j2 BUILD="$work/build" "$work/build/strutpress" > "$work/make.log"
}

{
    printf '# strutpress '
    sed -n 's/^#define SP_VERSION_\(MAJOR\|MINOR\|PATCH\) //p' "$root/include/strutpress/version.h" | paste -sd.
    echo "$row"
    while read -r name value; do
        build "$name" "$value"
        press "$name" "$value" "$work/build/strutpress"
    done
} << ROWS > "$work/rules.csv"
as_it_is -
own_reach 2
own_reach 4
goes_on -0.5
goes_on 0
one_body 0.15
one_body 0.4
in_line 0.2
in_line 0.45
rest_slack 0.94
rest_slack 0.99
ROWS
mv "$work/rules.csv" "$here/rules.csv"
"$here/rules_table.sh"
