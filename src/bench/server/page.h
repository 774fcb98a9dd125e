/* The files of the page, taken into the program. */
#ifndef SP_SERVER_PAGE_H
#define SP_SERVER_PAGE_H

#include <stddef.h>

/* Return the text of a file by its name, with the type of its content; NULL: there is none. */
const char *sp_page_part(const char *name, const char **type, size_t *size);

#endif
