# exit 6
# one line
# no stdout
# stderr cannot be written
ulimit -f 1 # blocks of 1024 bytes: the first file is larger
trap '' XFSZ
strutpress start first
status=$?
[ -z "$(ls -A first)" ] || exit 1
exit $status
