/* All files of one run, together. Each is written into a hidden folder beside its place; when all
 * are complete they take their places as one (exchange.h), and files of the last set of the same
 * kind that are not in this one go. Until then, and after any failure, the folder is as before.
 * Which files are the program's own it knows from a list in the folder (file_list.h); nothing else
 * there is touched. */
#ifndef SP_WRITE_FILE_SET_H
#define SP_WRITE_FILE_SET_H

#include <stdio.h>

#include <strutpress/context.h>

#define SP_SET_NAME_SIZE 256 /* what a file system takes as one name, with its end */

typedef struct sp_file_set {
    const char *folder;
    const char *kind; /* the sets that replace each other: "press"; NULL: one file, not listed */
    volatile sig_atomic_t *writing; /* the flag of the context, NULL: none */
    int made_folder;
    int count, capacity;
    char (*name)[SP_SET_NAME_SIZE]; /* final names inside the folder */
    FILE *stream;                   /* the file being written, NULL between files */
    /* Descriptors of the folder, of the hidden folder in it, and of new/ in that. */
    int out, exchange, fresh;
} sp_file_set;

/* Make the folder when it is missing, wait for another run that writes into it, and bring to its
 * end what a run that was killed began there. `kind` is a word that lives as long as the set,
 * `capacity` the largest number of files. Errors: SP_NO_WRITE, SP_NO_MEMORY; the set is then
 * empty. */
sp_status sp_file_set_begin(sp_context *context, sp_file_set *set, const char *folder,
                            const char *kind, int capacity);
/* Open the next file; its stream is set->stream. */
sp_status sp_file_set_open(sp_context *context, sp_file_set *set, const char *name);
/* Close the file. `status` is what its writer returned; it is passed on, with the file named when
 * it cannot be written. */
sp_status sp_file_set_close(sp_context *context, sp_file_set *set, sp_status status);
/* Put all files in their places (status SP_OK), or remove what was begun; this frees the set and
 * returns the status. */
sp_status sp_file_set_end(sp_context *context, sp_file_set *set, sp_status status);

/* Return whether a set of that kind with these names could be written: the folder takes a file, and
 * none of the names belongs to something outside the set. The folder is left as it was found.
 * Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_file_set_try(sp_context *context, const char *folder, const char *kind, int count,
                          const char *const *name);

#endif
