# This file is sourced by others: press the two feet of the demo with changes, and write a line each into a table beside this file.

# feet PROGRAM FILE COLUMNS MEASURE:UNIT...: on standard input one row per change, "values of the columns | --set arguments"; figures are
# medians of five flaw seeds.
feet() {
    local program=$1 file=$2 columns=$3 folder work coupon values changes measure names=() head=
    shift 3
    folder=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
    work=$(mktemp -d)
    trap "rm -rf '$work'" EXIT
    cat > "$work/rows"
    for measure; do names+=("${measure%:*}") head+=",${measure/:/_}"; done
    {
        "$program" --version | sed -n '1s/^/# /p'
        echo "coupon,$columns$head"
        for coupon in foot-soft foot-firm; do
            while IFS='|' read -r values changes; do
                # shellcheck disable=SC2086 # several arguments
                "$program" press --seeds 5 "$folder/../../docs/demo/$coupon.yaml" --quiet --out "$work/out" $changes > "$work/table.txt"
                awk -v line="$coupon,${values// /}" -v names="${names[*]}" '
                    $2 + 0 == $2 { value[$1] = $2 } # a figure that is not modelled or not reached stays empty
                    END { n = split(names, name, " "); for (i = 1; i <= n; i++) line = line "," value[name[i]]; print line }' \
                    "$work/table.txt"
            done < "$work/rows"
        done
    } > "$folder/$file.tmp"
    mv "$folder/$file.tmp" "$folder/$file"
    cat "$folder/$file"
}
