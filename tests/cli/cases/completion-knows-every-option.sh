# exit 0
# no stderr

# What a command says would be valid is what a shell completes; --figures is another word for --measures of compare and report,
# and check says that it and --seeds are options of press, which says that --case and --try are options of check.
strutpress list completion-bash > bash
strutpress list completion-zsh > zsh
for command in $(sed -n 's/^    \([a-z]*\)) words=.*/\1/p' bash); do
    for option in $(strutpress "$command" --no-such-option 2>&1 | sed 's/.*valid: //; s/;.*//' | grep -o -e '--[a-z0-9-]*'); do
        for shell in bash zsh; do
            case "$command $option" in "check --figures" | "check --seeds" | "press --case" | "press --try" | "compare --figures" | "report --figures") continue ;; esac
            grep -E "^ *$command\)" $shell | grep -qF -e " $option " -e " $option\"" || echo "$shell: $command $option"
        done
    done
done | tee missing
[ ! -s missing ]
