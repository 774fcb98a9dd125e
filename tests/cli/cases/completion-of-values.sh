# exit 0
# stdout ^bash: along$
# stdout ^bash: bonded sliding friction$
# stdout ^bash: kagome$
# no stderr

# Words of a key, and names of patterns and laws, are completed behind the sign, where bash takes KEY=VALUE apart.
strutpress list completion-bash > completion
complete_at() { bash --norc -c 'source ./completion; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _strutpress; echo "bash: ${COMPREPLY[*]}"' - "$@"; }
complete_at strutpress press a.yaml --set press.direction = al
complete_at strutpress press a.yaml --set platens.hold =
complete_at strutpress press a.yaml --set infill.pattern = kag
