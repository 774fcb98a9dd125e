/* Completion of commands, options and keys in a shell, made from the rows. */
#include <string.h>

#include "terminal/cli.h"

/* The options of a command are the words with -- in its usage line. */
static void print_options(const char *usage, FILE *stream)
{
    for (const char *at = strstr(usage, "--"); at; at = strstr(at + 2, "--"))
        fprintf(stream, " %.*s", (int)(2 + strspn(at + 2, "abcdefghijklmnopqrstuvwxyz-")), at);
    fprintf(stream, " --help");
}

static void print_commands(FILE *stream)
{
    int count;
    const command_row *row = command_rows(&count);
    for (int i = 0; i < count; i++) fprintf(stream, "%s%s", i ? " " : "", row[i].name);
}

static void print_keys(FILE *stream)
{
    for (int i = 0; i < sp_parameter_count(); i++)
        fprintf(stream, "%s%s=", i ? " " : "", sp_parameter_at(i).key);
}

/* The words of a list are those before the first option in its usage line. */
static void print_words(const char *usage, FILE *stream)
{
    for (const char *at = usage; *at && *at != '[';) {
        const size_t length = strspn(at, "abcdefghijklmnopqrstuvwxyz-");
        if (length) fprintf(stream, " %.*s", (int)length, at);
        at += length ? length : 1;
    }
}

static void print_cases(const char *before, FILE *stream)
{
    int count;
    const command_row *row = command_rows(&count);
    for (int i = 0; i < count; i++) {
        fprintf(stream, "%s%s) words=\"", before, row[i].name);
        if (!strcmp(row[i].name, "list")) print_words(row[i].arguments, stream);
        if (!strcmp(row[i].name, "help")) print_commands(stream);
        print_options(row[i].arguments, stream);
        fprintf(stream, "\" ;;\n");
    }
}

void print_bash_completion(FILE *stream)
{
    fprintf(stream,
            "# Completion of strutpress for bash, made by `strutpress list completion-bash`.\n"
            "_strutpress() {\n"
            "    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} words\n"
            "    case $before in\n"
            "    --set) COMPREPLY=($(compgen -o nospace -W \"");
    print_keys(stream);
    fprintf(stream,
            "\" -- \"$word\")); compopt -o nospace; return ;;\n"
            "    --format) COMPREPLY=($(compgen -W \"table json csv\" -- \"$word\")); return ;;\n"
            "    --*) COMPREPLY=($(compgen -f -- \"$word\")) ;;\n"
            "    esac\n"
            "    if [ \"$COMP_CWORD\" = 1 ]; then\n"
            "        COMPREPLY=($(compgen -W \"");
    print_commands(stream);
    fprintf(stream, " --help --version\" -- \"$word\"))\n"
                    "        return\n"
                    "    fi\n"
                    "    case ${COMP_WORDS[1]} in\n");
    print_cases("    ", stream);
    fprintf(stream,
            "    *) words='' ;;\n"
            "    esac\n"
            "    COMPREPLY=($(compgen -W \"$words\" -- \"$word\") $(compgen -f -- \"$word\"))\n"
            "}\n"
            "complete -o filenames -F _strutpress strutpress\n");
}

void print_zsh_completion(FILE *stream)
{
    fprintf(stream,
            "#compdef strutpress\n"
            "# Completion of strutpress for zsh, made by `strutpress list completion-zsh`.\n"
            "local words_before=$words[CURRENT-1]\n"
            "if (( CURRENT == 2 )); then\n"
            "    compadd -- ");
    print_commands(stream);
    fprintf(stream, "\n    return\nfi\n"
                    "case $words_before in\n"
                    "--set) compadd -S '' -- ");
    print_keys(stream);
    fprintf(stream, "; return ;;\n"
                    "--format) compadd -- table json csv; return ;;\n"
                    "esac\n"
                    "local command=$words[2] words\n"
                    "case $command in\n");
    print_cases("", stream);
    fprintf(stream, "esac\n"
                    "compadd -- ${=words}\n"
                    "_files\n");
}
