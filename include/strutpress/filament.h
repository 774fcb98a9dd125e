/* Filaments by name, for material.filament.
 *
 * Ownership: names and texts live as long as the program. Errors: none. Threads: from several at
 * once. */
#ifndef STRUTPRESS_FILAMENT_H
#define STRUTPRESS_FILAMENT_H

#include <strutpress/context.h>

SP_PUBLIC_BEGIN

typedef struct sp_filament {
    const char *name; /* "urethane-95a" */
    /* This is the text of its file: comments with the source of every value, then the section
     * material. */
    const char *text;
} sp_filament;

const sp_filament *sp_filaments(int *count);

SP_PUBLIC_END

#endif
