/* This is the version of the sparse solver that is loaded, not of the header. */
#include "sparse/sparse_version.h"

#include <cholmod.h>
#include <stdio.h>

const char *sp_sparse_library_text(char *text, size_t size)
{
    int version[3] = {0, 0, 0};
    cholmod_version(version);
    snprintf(text, size, "CHOLMOD %d.%d.%d", version[0], version[1], version[2]);
    return text;
}
