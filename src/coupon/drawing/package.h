/* Open packages (OPC, ISO/IEC 29500-2): parts of XML in a zip archive, read and written in memory.
 *
 * Only this room names libzip and libxml2 (libraries.h). A package comes from anywhere, so: no
 * network, no document type and with it no entities, and no part larger than SP_PART_MAX when
 * unpacked, whatever the archive says of its size. */
#ifndef SP_DRAWING_PACKAGE_H
#define SP_DRAWING_PACKAGE_H

#include <stddef.h>
#include <stdio.h>

#include <strutpress/context.h>

#define SP_PART_MAX (64L << 20) /* bytes of a part, unpacked */

typedef struct sp_package sp_package;

/* Open a package. `bytes` must outlive it; `name` stands in messages. Errors: SP_BAD_NETWORK (no
 * archive, damaged, no OPC package), SP_NO_READ (a library is missing), SP_NO_MEMORY. */
sp_status sp_package_open(sp_context *context, const char *name, const void *bytes, size_t size,
                          sp_package **package);
void sp_package_close(sp_package *package); /* accepts NULL */

/* A start tag, while a part is parsed; it is valid during the call. */
typedef struct sp_tag {
    const char *name;  /* without prefix */
    const char *space; /* its namespace, "" when it has none */
    int attribute_count, prefix_count;
    const unsigned char **attribute; /* 5 pointers per attribute, as libxml2 hands them over */
    const unsigned char **prefix;    /* prefix and namespace declared here, 2 each */
} sp_tag;

typedef struct sp_tag_handler {
    void *user;
    sp_status (*begin)(void *user, const sp_tag *tag);
    void (*end)(void *user);
} sp_tag_handler;

/* Parse one part; a failure of `begin` ends it. */
sp_status sp_package_parse(sp_package *package, const char *part, const sp_tag_handler *handler);

/* Copy an attribute without a namespace into `text`, cut to its size; 0 when the tag does not have
 * it. */
int sp_tag_attribute(const sp_tag *tag, const char *name, char *text, size_t size);
int sp_tag_has_foreign(const sp_tag *tag,
                       const char *name); /* 1: the tag has the name in some namespace */
/* Find the namespace that a prefix stands for by the declarations of this tag; NULL: none. */
const char *sp_tag_prefix(const sp_tag *tag, const char *prefix);

/* Fail with "name:part:line: received 'RECEIVED'; valid: VALID" while a part is parsed, without
 * part and line otherwise. */
sp_status sp_package_fail(const sp_package *package, const char *received, const char *valid);

/* One part of a package that is to be written. */
typedef struct sp_part {
    const char *name; /* for example "3D/3dmodel.model" */
    const char *text;
    size_t size;
} sp_part;

/* Write an archive of these parts. The same parts always give the same bytes, because no time is
 * stored. Errors: SP_NO_WRITE, SP_NO_READ (a library is missing), SP_NO_MEMORY, SP_INTERNAL. */
sp_status sp_package_write(sp_context *context, const sp_part *parts, int count, FILE *stream);

#endif
