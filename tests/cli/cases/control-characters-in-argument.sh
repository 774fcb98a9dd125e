# exit 2
# one line
# stderr received '\\x1b\[31m'
strutpress $'\e[31m'
