/* This writes a file with given content for one test; the test removes it. */
#ifndef TESTS_TEMPORARY_FILE_H
#define TESTS_TEMPORARY_FILE_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Write the file; `name` receives its path. */
static inline void write_temporary_bytes(char *name, size_t size, const void *bytes, size_t count)
{
    const char *folder = getenv("TMPDIR");
    snprintf(name, size, "%s/strutpress_test_XXXXXX", folder ? folder : "/tmp");
    const int file = mkstemp(name);
    if (file < 0 || write(file, bytes, count) != (ssize_t)count) abort();
    close(file);
}

static inline void write_temporary_file(char *name, size_t size, const char *text)
{
    write_temporary_bytes(name, size, text, strlen(text));
}

#endif
