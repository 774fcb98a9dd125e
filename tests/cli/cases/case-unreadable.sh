# exit 5
# no stdout
# one line
# stderr cannot be read
strutpress check /proc/self/mem
