# exit 3
# no stdout
# one line
# stderr ^p.yaml:1: received 'lists within lists'; valid: at most 8 lists or mappings within each other
{ printf 'case: '; head -c 300000 /dev/zero | tr '\0' '['; } > p.yaml
strutpress batch p.yaml
