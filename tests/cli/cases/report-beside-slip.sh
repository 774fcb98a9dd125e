# exit 2
# no stdout
# stderr received '25 mm'; valid: a strain such as "25 %"

# A place for the picture beside the page that is none.
strutpress report a.yaml --beside "25 mm"
