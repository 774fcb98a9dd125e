/* start: write a case, a plan and a target to begin with. */
#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "terminal/cli.h"

/* The files as they stand in src/cli/command/start, taken into the program by the assembler. */
#define STARTER(id, file)                                                                          \
    __asm__(".pushsection .rodata, \"a\"\nstarter_" #id ":\n.incbin \"src/cli/command/start/" file \
            "\"\n.byte 0\n.popsection\n");                                                         \
    extern const char starter_##id[];

#define STARTER_ROWS(X)                                                                            \
    X(pad, "pad.yaml", "a case, every line of it explained: strutpress press")                     \
    X(plan, "pads-plan.yaml", "a plan of 18 coupons: strutpress batch")                            \
    X(target, "pads-target.yaml", "a target, the lightest pad that meets it: strutpress seek")

#define STARTER_TEXT(id, file, doc) STARTER(id, file)
STARTER_ROWS(STARTER_TEXT)
#undef STARTER_TEXT

static const struct {
    const char *file, *text, *doc;
} starters[] = {
#define STARTER_ENTRY(id, file, doc) {file, starter_##id, doc},
    STARTER_ROWS(STARTER_ENTRY)
#undef STARTER_ENTRY
};
enum { STARTER_COUNT = ROW_COUNT(starters), PATH_SIZE = SP_FILE_SIZE + 64 };

void explain_start(FILE *stream)
{
    fprintf(stream, "Writes into the folder, which is made when it is missing:\n");
    for (int i = 0; i < STARTER_COUNT; i++)
        fprintf(stream, "  %-18s %s\n", starters[i].file, starters[i].doc);
    fprintf(stream,
            "\nA file that is there already is never overwritten: then nothing is written at "
            "all.\n");
}

static void path_of(const char *folder, int i, const char *ending, char path[PATH_SIZE])
{
    snprintf(path, PATH_SIZE, "%s/%s%s", folder, starters[i].file, ending);
}

static sp_status refuse_existing(sp_context *context, const char *folder)
{
    char path[PATH_SIZE];
    struct stat about;
    for (int i = 0; i < STARTER_COUNT; i++) {
        path_of(folder, i, "", path);
        if (lstat(path, &about) == 0)
            return sp_fail(context, SP_NO_WRITE,
                           "%s: exists already and is left as it is; valid: another folder", path);
    }
    return SP_OK;
}

/* The file is written whole under a temporary name. `link` then gives it the wanted name, and fails
 * where another program has taken that name meanwhile. */
static sp_status write_one(sp_context *context, const char *folder, int i)
{
    char path[PATH_SIZE], own[PATH_SIZE];
    path_of(folder, i, "", path);
    path_of(folder, i, ".tmp", own);
    FILE *stream = fopen(own, "wx");
    int written = stream && fputs(starters[i].text, stream) >= 0;
    if (stream && fclose(stream)) written = 0;
    const int linked = written && link(own, path) == 0;
    const int cause = errno;
    if (stream) remove(own);
    if (linked) return SP_OK;
    return sp_fail(context, SP_NO_WRITE,
                   "%s: cannot be written: %s; valid: a folder with room that can be written", path,
                   strerror(cause));
}

static sp_status write_all(sp_context *context, const char *folder)
{
    char path[PATH_SIZE];
    int done = 0;
    sp_status status = SP_OK;
    while (done < STARTER_COUNT && (status = write_one(context, folder, done)) == SP_OK) done++;
    for (int i = 0; status != SP_OK && i < done; i++) { /* either all files are written or none */
        path_of(folder, i, "", path);
        remove(path);
    }
    return status;
}

sp_status command_start(int argc, char **argv)
{
    sp_context context = {0};
    const char *folder;
    int help;
    sp_status status = read_options(argc, argv, NULL, 0, &help);
    if (status != SP_OK || help) return status;
    status = read_one_file(argc, argv, "folder", &folder);
    if (status != SP_OK) return status;
    if (!folder[0]) return fail_usage("start", "received ''; valid: the name of a folder");
    status = make_folder(&context, folder);
    if (status == SP_OK) status = refuse_existing(&context, folder);
    if (status == SP_OK) status = write_all(&context, folder);
    if (status != SP_OK) return fail_with(&context, status);
    for (int i = 0; i < STARTER_COUNT; i++)
        printf("%s/%s  %s\n", folder, starters[i].file, starters[i].doc);
    printf("next: cd %s && strutpress press pad.yaml\n", folder);
    return SP_OK;
}
