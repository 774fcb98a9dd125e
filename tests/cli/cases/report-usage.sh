# exit 2
# no stdout
# stderr ^strutpress report: received no store and no case file; see: strutpress help report$
# stderr ^strutpress report: received 1 case files and 1 stores; valid: case files or one store
# stderr ^strutpress report: --states: received '13'; valid: 0 .. 12
# stderr ^strutpress report: --out: received 'folder/'; valid: the name of a file
# stderr ^strutpress report: --show: received ''
# stderr ^strutpress report: received '--colour'; valid: --out, --title
strutpress report
strutpress report a.yaml b.store
strutpress report a.yaml --states 13
strutpress report a.yaml --out folder/
strutpress report a.yaml --show ''
strutpress report a.yaml --colour red
