# exit 2
# no stdout
# one line
# stderr ^strutpress gather: received no store to gather from
strutpress gather --store s.store
