# exit 5
# no stdout
# one line
# stderr ^./clock.csv:2: received no column of travel among 2; valid: names or units that show it, or its number
# absent out
printf 's;N\n0;0\n1;1\n2;3\n' > clock.csv
strutpress rig ./clock.csv
