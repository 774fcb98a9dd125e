/* The list in an output folder of the files that the program wrote there: one line per file, "KIND
 * NAME". */
#ifndef SP_WRITE_FILE_LIST_H
#define SP_WRITE_FILE_LIST_H

#include "write/file_set.h"

#define SP_FILE_LIST_NAME ".strutpress-files"

typedef struct sp_listed_file {
    char kind[16];
    char name[SP_SET_NAME_SIZE];
} sp_listed_file;

typedef struct sp_file_list {
    int present; /* 0: the folder has no list */
    int count;
    sp_listed_file *file;
} sp_file_list;

/* Read the list of the folder behind the descriptor `out`; `folder` is its name, for messages. A
 * line that the program would not write is refused: a name with a slash would reach out of the
 * folder. Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_file_list_read(sp_context *context, const char *folder, int out, sp_file_list *list);
void sp_file_list_free(sp_file_list *list);
/* Find the file of that name, NULL: it is not listed. */
const sp_listed_file *sp_file_list_find(const sp_file_list *list, const char *name);
/* Write the list as it will be when the set has replaced the files of those kinds that it takes
 * over. */
sp_status sp_file_list_write(sp_context *context, const sp_file_list *old, const sp_file_set *set,
                             int (*takes_over)(const char *kind, const char *other), FILE *stream);

#endif
