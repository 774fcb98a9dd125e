# exit 5
# no stdout
# one line
# stderr ^text: .*valid: a store that `strutpress batch` wrote
# absent all.store
head -c 4000 /dev/zero | tr '\0' x > text
strutpress gather text --store all.store
