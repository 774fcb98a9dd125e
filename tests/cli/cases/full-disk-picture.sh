# exit 6
# stderr network.svg: cannot write: File too large
# absent o/network.svg
trap '' XFSZ # a file size limit stands for a full disk
ulimit -f 1
strutpress check $REPO/docs/demo/foot-soft.yaml --out o > /dev/null
