/* The options of the commands that find an answer by presses through a store of their own. */
#include "terminal/cli.h"

void explain_store_options(FILE *stream, const char *what)
{
    fprintf(
        stream,
        "  --store FILE             where the presses are kept; default out/, the name of the\n"
        "                           %s and .store\n"
        "  --out FOLDER             where the answer goes; default out/ and the name of the %s\n"
        "  --threads N              coupons pressed at once; default one per core\n"
        "  --quiet                  no progress and no last line\n\n",
        what, what);
}

sp_status read_store_options(int argc, char **argv, const char *what, store_options *options,
                             int *help)
{
    *options = (store_options){0};
    const option_row rows[] = {
        {"store", 0, option_store, &options->store},
        {"out", 'o', option_folder, &options->out},
        {"threads", 0, option_threads, &options->threads},
        {"format", 0, option_format, &options->format},
        {"quiet", 'q', NULL, &options->quiet},
    };
    const sp_status status = read_options(argc, argv, rows, ROW_COUNT(rows), help);
    if (status != SP_OK || *help) return status;
    return read_one_file(argc, argv, what, &options->file);
}
