# exit 2
# one line
# stderr received '\?\[31m'
strutpress $'\e[31m'
