/* All files of one run, together: each is written under a temporary name, and only when all are complete they get
 * their own names. A failure removes what was begun: the folder is then as before. */
#ifndef SP_WRITE_FILE_SET_H
#define SP_WRITE_FILE_SET_H

#include <stdio.h>

#include <strutpress/context.h>

#define SP_SET_PATH_SIZE 4096
#define SP_SET_NAME_SIZE 48

typedef struct sp_file_set {
    const char *folder;
    int made_folder;
    int count, capacity;
    char (*name)[SP_SET_NAME_SIZE]; /* final names inside the folder */
    FILE *stream;                   /* the file being written, NULL between files */
} sp_file_set;

/* Make the folder when it is missing. `capacity` is the largest number of files. SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_file_set_begin(sp_context *context, sp_file_set *set, const char *folder,
                            int capacity);
/* Open the next file; its stream is set->stream. */
sp_status sp_file_set_open(sp_context *context, sp_file_set *set, const char *name);
/* Close it; `status` is what its writer returned and is passed on, with the file named when it cannot be written. */
sp_status sp_file_set_close(sp_context *context, sp_file_set *set, sp_status status);
/* Give all files their names (status SP_OK), or remove what was begun; frees the set; returns the status. */
sp_status sp_file_set_end(sp_context *context, sp_file_set *set, sp_status status);

#endif
