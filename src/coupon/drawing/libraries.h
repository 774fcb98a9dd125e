/* The functions of libzip and libxml2 that packages call. Both are opened when the first package
 * is, not when the program is loaded: they bring a large family of others, whose loading takes
 * longer than that of all the rest, and 4 MB, while most presses read no package. */
#ifndef SP_DRAWING_LIBRARIES_H
#define SP_DRAWING_LIBRARIES_H

#include <libxml/parser.h>
#include <libxml/SAX2.h>
#include <zip.h>

#include <strutpress/context.h>

#define SP_ZIP_FUNCTIONS(X)                                                                        \
    X(zip_close)                                                                                   \
    X(zip_discard)                                                                                 \
    X(zip_error_fini)                                                                              \
    X(zip_error_init)                                                                              \
    X(zip_error_strerror)                                                                          \
    X(zip_fclose)                                                                                  \
    X(zip_file_add)                                                                                \
    X(zip_file_set_dostime)                                                                        \
    X(zip_file_strerror)                                                                           \
    X(zip_fopen_index)                                                                             \
    X(zip_fread)                                                                                   \
    X(zip_get_num_entries)                                                                         \
    X(zip_name_locate)                                                                             \
    X(zip_open_from_source)                                                                        \
    X(zip_set_file_compression)                                                                    \
    X(zip_source_buffer)                                                                           \
    X(zip_source_buffer_create)                                                                    \
    X(zip_source_close)                                                                            \
    X(zip_source_free)                                                                             \
    X(zip_source_keep)                                                                             \
    X(zip_source_open)                                                                             \
    X(zip_source_read)                                                                             \
    X(zip_stat)                                                                                    \
    X(zip_strerror)

#define SP_XML_FUNCTIONS(X)                                                                        \
    X(xmlCreatePushParserCtxt)                                                                     \
    X(xmlCtxtUseOptions)                                                                           \
    X(xmlFreeDoc)                                                                                  \
    X(xmlFreeParserCtxt)                                                                           \
    X(xmlParseChunk)                                                                               \
    X(xmlSAX2GetLineNumber)

/* Each under its own name. */
typedef struct sp_libraries {
#define SP_POINTER(name) __typeof__(name) *name;
    SP_ZIP_FUNCTIONS(SP_POINTER)
    SP_XML_FUNCTIONS(SP_POINTER)
#undef SP_POINTER
} sp_libraries;

/* Opened by the first call of any thread and kept until the program ends. Errors: SP_NO_READ (not
 * installed, or another version), SP_NO_MEMORY; the next call tries again. */
sp_status sp_libraries_open(sp_context *context, const sp_libraries **libraries);

#endif
