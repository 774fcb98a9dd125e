#!/bin/bash
# Run the tests of the command line:  tests/cli/run.sh PROGRAM [CASE...]
#
# Each file in tests/cli/cases is a shell script that runs in an empty folder with `strutpress` in its PATH and REPO set.
# Its exit status is the one of its last command. Comments at its top say what must hold:
#   # exit N               exit status
#   # stdout PATTERN       a line of stdout matches (extended regular expression); # stderr PATTERN alike
#   # no stdout            nothing on stdout; # no stderr alike
#   # one line             stderr is one line
#   # present PATH         a file with content; # absent PATH: nothing there
# `strutpress press` presses one seed of the flaws here unless the call says --seeds, so that the tests stay short; `program` in the
# PATH is the unchanged program, with the seeds that a user gets.
# Whatever a case does, no file named *.tmp and no .strutpress-exchange may stay behind.
set -u
program=$(realpath "${1:?usage: tests/cli/run.sh PROGRAM [CASE...]}")
[ -x "$program" ] || { echo "$program: not a program" >&2; exit 2; }
shift
here=$(realpath "$(dirname "$0")")
export REPO=${here%/tests/cli}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/bin"
ln -s "$program" "$work/bin/program"
cat > "$work/bin/strutpress" <<'END'
#!/bin/bash
if [ "${1:-}" = press ] && [[ " $* " != *" --seeds"* ]]; then shift; set -- press --seeds 1 "$@"; fi
exec program "$@"
END
chmod +x "$work/bin/strutpress"
export PATH="$work/bin:$PATH" LC_ALL=C OMP_NUM_THREADS=1

complain() {
    echo "    $1"
    bad=1
}

check_rule() {
    local rule=$1
    case $rule in
    "exit "*) [ "$status" = "${rule#exit }" ] || complain "exit status $status, wanted ${rule#exit }" ;;
    "stdout "*) grep -qE -- "${rule#stdout }" stdout || complain "stdout lacks: ${rule#stdout }" ;;
    "stderr "*) grep -qE -- "${rule#stderr }" stderr || complain "stderr lacks: ${rule#stderr }" ;;
    "no stdout") [ ! -s stdout ] || complain "stdout is not empty" ;;
    "no stderr") [ ! -s stderr ] || complain "stderr is not empty" ;;
    "one line") [ "$(wc -l < stderr)" = 1 ] || complain "stderr has $(wc -l < stderr) lines" ;;
    "present "*) [ -s "run/${rule#present }" ] || complain "missing or empty: ${rule#present }" ;;
    "absent "*) [ ! -e "run/${rule#absent }" ] || complain "should not be there: ${rule#absent }" ;;
    *) complain "unknown rule: $rule" ;;
    esac
}

run_case() {
    local file=$1 rules=0
    bad=0
    mkdir -p "$work/case/run" && cd "$work/case" || exit 1
    (cd run && timeout 120 bash "$file" > ../stdout 2> ../stderr < /dev/null)
    status=$?
    while IFS= read -r rule; do
        rules=$((rules + 1))
        check_rule "${rule#\# }"
    done < <(sed -n '/^# /!q;p' "$file")
    [ $status != 124 ] || complain "no end within 120 s"
    [ $rules -gt 0 ] || complain "no rules"
    grep -q '^caution: .*[.][.][.]$' stderr && complain "a caution is cut off"
    grep -q 'AddressSanitizer\|runtime error' stderr && complain "sanitizer report"
    left=$(find run -name '*.tmp*' -o -name .strutpress-exchange)
    [ -z "$left" ] || complain "left behind: $left"
    if [ $bad = 1 ]; then
        echo "  FAILED $(basename "$file")"
        sed 's/^/    stderr: /' stderr | head -5
        sed 's/^/    stdout: /' stdout | tail -5
        failed=$((failed + 1))
    fi
    cd / && rm -rf "$work/case"
}

count=0 failed=0
if [ $# = 0 ]; then set -- "$here"/cases/*.sh; fi
mapfile -t case_files < <(realpath -- "$@")
for case_file in "${case_files[@]}"; do
    run_case "$case_file"
    count=$((count + 1))
done
echo "command line: $count cases, $failed failed"
[ $failed = 0 ]
