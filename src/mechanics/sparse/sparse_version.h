/* The version of the sparse solver for the build line; only src/mechanics/sparse includes
 * cholmod.h. */
#ifndef SP_SPARSE_VERSION_H
#define SP_SPARSE_VERSION_H

#include <stddef.h>

/* Write "CHOLMOD 3.0.14" into text; returns text. */
const char *sp_sparse_library_text(char *text, size_t size);

#endif
