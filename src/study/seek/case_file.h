/* A case in a file that others read. */
#ifndef SP_SEEK_CASE_FILE_H
#define SP_SEEK_CASE_FILE_H

#include <stdio.h>

#include <strutpress/case.h>

/* A case as YAML that reads back to the very same coupon. `head` lines start with #. */
void sp_seek_write_case(const sp_case *request, const char *head, FILE *stream);

#endif
