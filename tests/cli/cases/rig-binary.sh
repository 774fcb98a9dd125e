# exit 5
# one line
# stderr :1: received a byte 1, which stands in no text; valid: a text file of columns of numbers
# absent out
printf 'mm;N\001\002\n' > bad.csv
strutpress rig bad.csv
