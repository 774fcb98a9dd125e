/* The targets of libFuzzer share this: checks of what must hold, and a file in memory for readers
 * that take the name of a file. */
#ifndef FUZZ_H
#define FUZZ_H

#include <fcntl.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

static inline void require(int condition)
{
    if (!condition) abort();
}

/* Check that a message is one line that a terminal shows as it is, and that there is one only when
 * something failed. */
static inline void require_line(const char *message, int failed)
{
    require(failed == (message[0] != 0));
    for (const char *c = message; *c; c++) require((unsigned char)*c >= 32 && *c != 127);
}

/* Return 1 when the input holds this word. The loop is written out, because libFuzzer looks at
 * every call of memcmp. */
static inline int fuzz_holds(const unsigned char *data, size_t size, const char *word)
{
    const size_t length = strlen(word);
    for (size_t i = 0; i + length <= size; i++) {
        size_t k = 0;
        while (k < length && data[i + k] == (unsigned char)word[k]) k++;
        if (k == length) return 1;
    }
    return 0;
}

typedef struct fuzz_file {
    char name[64];
    int handle;
} fuzz_file;

/* Write the file of this process with this ending. It is made once and then overwritten: opening
 * and removing a file for every input would take as long as reading it. /dev/shm is in memory. */
static inline void fuzz_put(fuzz_file *file, const char *ending, const void *bytes, size_t size)
{
    if (!file->name[0]) {
        const char *folder = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
        snprintf(file->name, sizeof file->name, "%s/fuzz_%ld%s", folder, (long)getpid(), ending);
        file->handle = open(file->name, O_RDWR | O_CREAT | O_TRUNC, 0600);
        require(file->handle >= 0);
    }
    require(ftruncate(file->handle, (off_t)size) == 0);
    require(pwrite(file->handle, bytes, size, 0) == (ssize_t)size);
}

#endif
