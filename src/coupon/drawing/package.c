/* Read and write zip archives of XML parts, see package.h. */
#include "drawing/package.h"

#include <errno.h>
#include <string.h>

#include "base/alloc.h"
#include "drawing/libraries.h"
#include "drawing/tag_length.h"

static const int entries_max = 10000;
enum {
    CHUNK = 16384,
    NAME_MAX_SHOWN = 200,
    DOS_MIDNIGHT = 0,
    DOS_FIRST_DAY = 0x21
}; /* 1980-01-01 */

struct sp_package {
    sp_context *context;
    const sp_libraries *libraries;
    const char *name; /* of the file */
    zip_t *archive;
    /* Used while a part is parsed: */
    const char *part;
    xmlParserCtxtPtr parser;
    const sp_tag_handler *handler;
    sp_status status; /* the first failure; the parser hands on nothing after it */
};

sp_status sp_package_fail(const sp_package *package, const char *received, const char *valid)
{
    size_t length = strlen(package->name);
    const char *tail =
        length > NAME_MAX_SHOWN ? package->name + length - NAME_MAX_SHOWN : package->name;
    char place[NAME_MAX_SHOWN] = "";
    if (package->parser)
        snprintf(place, sizeof place, "%.100s:%d:", package->part,
                 package->libraries->xmlSAX2GetLineNumber(package->parser));
    else if (package->part)
        snprintf(place, sizeof place, "%.100s:", package->part);
    return sp_fail(package->context, SP_BAD_NETWORK, "%s:%s received '%.160s'; valid: %s", tail,
                   place, received, valid);
}

static sp_status fail_zip(const sp_package *package, const char *what, const char *cause)
{
    char received[160];
    snprintf(received, sizeof received, "%s: %s", what, cause);
    return sp_package_fail(package, received, "a zip archive that holds a 3MF model, complete");
}

sp_status sp_package_open(sp_context *context, const char *name, const void *bytes, size_t size,
                          sp_package **package)
{
    zip_error_t cause;
    const sp_libraries *lib;
    *package = NULL;
    sp_status status = sp_libraries_open(context, &lib);
    if (status != SP_OK) return status;
    sp_package *made = *package = sp_alloc(1, sizeof *made);
    if (!made) return sp_fail(context, SP_NO_MEMORY, "no memory for a package");
    made->context = context;
    made->libraries = lib;
    made->name = name;
    lib->zip_error_init(&cause);
    zip_source_t *source = lib->zip_source_buffer_create(bytes, size, 0, &cause);
    if (source) made->archive = lib->zip_open_from_source(source, ZIP_RDONLY, &cause);
    if (!made->archive) {
        status = fail_zip(made, "no archive", lib->zip_error_strerror(&cause));
        if (source) lib->zip_source_free(source);
    } else if (lib->zip_get_num_entries(made->archive, 0) > entries_max)
        status = sp_package_fail(made, "an archive of over 10000 parts", "up to 10000 parts");
    else if (lib->zip_name_locate(made->archive, "[Content_Types].xml", ZIP_FL_NOCASE) < 0)
        status = sp_package_fail(made, "an archive without [Content_Types].xml",
                                 "an open package (OPC) with a 3MF model");
    lib->zip_error_fini(&cause);
    if (status != SP_OK) {
        sp_package_close(made);
        *package = NULL;
    }
    return status;
}

void sp_package_close(sp_package *package)
{
    if (!package) return;
    if (package->archive) package->libraries->zip_discard(package->archive);
    sp_free(package);
}

/* ---- tags ------------------------------------------------------------------------------------ */

/* libxml2 hands over 5 pointers per attribute: name, prefix, namespace, begin and end of the
 * value. */
static const unsigned char **find_attribute(const sp_tag *tag, const char *name, int foreign)
{
    for (int i = 0; i < tag->attribute_count; i++) {
        const unsigned char **at = tag->attribute + 5 * i;
        if (strcmp((const char *)at[0], name) == 0 && (at[2] != NULL) == foreign) return at;
    }
    return NULL;
}

int sp_tag_attribute(const sp_tag *tag, const char *name, char *text, size_t size)
{
    const unsigned char **at = find_attribute(tag, name, 0);
    if (!at) return 0;
    size_t length = (size_t)(at[4] - at[3]);
    if (length >= size) length = size - 1;
    memcpy(text, at[3], length);
    text[length] = 0;
    return 1;
}

int sp_tag_has_foreign(const sp_tag *tag, const char *name)
{
    return find_attribute(tag, name, 1) != NULL;
}

const char *sp_tag_prefix(const sp_tag *tag, const char *prefix)
{
    for (int i = 0; i < tag->prefix_count; i++) {
        const char *declared = (const char *)tag->prefix[2 * i];
        if (declared && strcmp(declared, prefix) == 0) return (const char *)tag->prefix[2 * i + 1];
    }
    return NULL;
}

/* ---- parsing --------------------------------------------------------------------------------- */

static void on_begin(void *user, const xmlChar *name, const xmlChar *prefix, const xmlChar *space,
                     int prefix_count, const xmlChar **prefixes, int attribute_count,
                     int default_count, const xmlChar **attributes)
{
    sp_package *package = user;
    (void)prefix, (void)default_count;
    if (package->status != SP_OK) return;
    const sp_tag tag = {.name = (const char *)name,
                        .space = space ? (const char *)space : "",
                        .attribute_count = attribute_count,
                        .prefix_count = prefix_count,
                        .attribute = attributes,
                        .prefix = prefixes};
    package->status = package->handler->begin(package->handler->user, &tag);
}

static void on_end(void *user, const xmlChar *name, const xmlChar *prefix, const xmlChar *space)
{
    sp_package *package = user;
    (void)name, (void)prefix, (void)space;
    if (package->status == SP_OK && package->handler->end)
        package->handler->end(package->handler->user);
}

/* Entities are never declared, since nothing listens for declarations, and the document type that
 * would declare them is refused. */
static void on_document_type(void *user, const xmlChar *name, const xmlChar *external,
                             const xmlChar *system)
{
    sp_package *package = user;
    (void)name, (void)external, (void)system;
    if (package->status == SP_OK)
        package->status = sp_package_fail(package, "<!DOCTYPE",
                                          "XML without a document type (and without entities)");
}

static void on_error(void *user, xmlErrorPtr error)
{
    sp_package *package = user;
    char received[160];
    if (package->status != SP_OK || error->level < XML_ERR_ERROR) return;
    if (error->code == XML_ERR_NO_MEMORY) {
        package->status =
            sp_fail(package->context, SP_NO_MEMORY, "no memory for %.100s", package->part);
        return;
    }
    snprintf(received, sizeof received, "%s", error->message ? error->message : "?");
    received[strcspn(received, "\n")] = 0;
    package->status = sp_package_fail(package, received, "well-formed XML");
}

/* Feed the part to the parser in pieces, and count the bytes that really come out of the archive.
 */
static sp_status feed(sp_package *package, zip_file_t *file)
{
    char chunk[CHUNK];
    sp_tag_length tags = {0};
    long total = 0;
    for (;;) {
        zip_int64_t got = package->libraries->zip_fread(file, chunk, sizeof chunk);
        if (got < 0)
            return fail_zip(package, "a damaged part", package->libraries->zip_file_strerror(file));
        total += (long)got;
        if (total > SP_PART_MAX)
            return sp_package_fail(package, "over 64 MB when unpacked", "up to 64 MB");
        if (memchr(chunk, 0, (size_t)got))
            return sp_package_fail(package, "another encoding than UTF-8", "XML in UTF-8");
        if (!sp_tag_length_read(&tags, chunk, (size_t)got))
            return sp_package_fail(package, "a tag of over 16384 bytes", "tags that are shorter");
        int failed = package->libraries->xmlParseChunk(package->parser, chunk, (int)got, got == 0);
        if (package->status != SP_OK) return package->status;
        if (failed) return sp_package_fail(package, "XML that cannot be read", "well-formed XML");
        if (got == 0) return SP_OK;
    }
}

static sp_status check_part(const sp_package *package, const char *part, zip_stat_t *about)
{
    if (package->libraries->zip_stat(package->archive, part, ZIP_FL_NOCASE, about) != 0)
        return sp_package_fail(package, "an archive without this part",
                               "a 3MF package whose relations and model are in it");
    if ((about->valid & ZIP_STAT_ENCRYPTION_METHOD) && about->encryption_method != ZIP_EM_NONE)
        return sp_package_fail(package, "an encrypted part", "a part without a password");
    if ((about->valid & ZIP_STAT_COMP_METHOD) && about->comp_method != ZIP_CM_STORE &&
        about->comp_method != ZIP_CM_DEFLATE)
        return sp_package_fail(package, "an unknown compression", "stored or deflated parts");
    if ((about->valid & ZIP_STAT_SIZE) && about->size > (zip_uint64_t)SP_PART_MAX)
        return sp_package_fail(package, "over 64 MB when unpacked", "up to 64 MB");
    return SP_OK;
}

sp_status sp_package_parse(sp_package *package, const char *part, const sp_tag_handler *handler)
{
    xmlSAXHandler listener = {.initialized = XML_SAX2_MAGIC,
                              .startElementNs = on_begin,
                              .endElementNs = on_end,
                              .internalSubset = on_document_type,
                              .serror = on_error};
    zip_stat_t about;
    zip_file_t *file = NULL;
    package->part = part;
    package->handler = handler;
    package->status = SP_OK;
    sp_status status = check_part(package, part, &about);
    if (status != SP_OK) goto done;
    file = package->libraries->zip_fopen_index(package->archive, about.index, 0);
    if (!file) {
        status = fail_zip(package, "a part that cannot be opened",
                          package->libraries->zip_strerror(package->archive));
        goto done;
    }
    package->parser =
        package->libraries->xmlCreatePushParserCtxt(&listener, package, NULL, 0, NULL);
    if (!package->parser || package->libraries->xmlCtxtUseOptions(
                                package->parser, XML_PARSE_NONET | XML_PARSE_IGNORE_ENC) != 0) {
        status = sp_fail(package->context, SP_NO_MEMORY, "no memory to parse %.100s", part);
        goto done;
    }
    status = feed(package, file);
done:
    if (package->parser) {
        if (package->parser->myDoc) package->libraries->xmlFreeDoc(package->parser->myDoc);
        package->libraries->xmlFreeParserCtxt(package->parser);
    }
    package->parser = NULL;
    package->part = NULL;
    if (file) package->libraries->zip_fclose(file);
    return status;
}

/* ---- writing --------------------------------------------------------------------------------- */

static int add_part(const sp_libraries *lib, zip_t *archive, const sp_part *part)
{
    zip_source_t *source = lib->zip_source_buffer(archive, part->text, part->size, 0);
    if (!source) return 0;
    zip_int64_t index = lib->zip_file_add(archive, part->name, source, ZIP_FL_ENC_UTF_8);
    if (index < 0) {
        lib->zip_source_free(source);
        return 0;
    }
    zip_uint64_t at = (zip_uint64_t)index;
    return lib->zip_file_set_dostime(archive, at, DOS_MIDNIGHT, DOS_FIRST_DAY, 0) == 0 &&
           lib->zip_set_file_compression(archive, at, ZIP_CM_DEFLATE, 6) == 0;
}

static sp_status copy_out(sp_context *context, const sp_libraries *lib, zip_source_t *source,
                          FILE *stream)
{
    char chunk[CHUNK];
    zip_int64_t got = 0;
    sp_status status = SP_OK;
    if (lib->zip_source_open(source) != 0)
        return sp_fail(context, SP_INTERNAL, "the archive cannot be read back");
    while (status == SP_OK && (got = lib->zip_source_read(source, chunk, sizeof chunk)) > 0)
        if (fwrite(chunk, 1, (size_t)got, stream) != (size_t)got)
            status = sp_fail(context, SP_NO_WRITE, "cannot write: %s", strerror(errno));
    if (status == SP_OK && got < 0)
        status = sp_fail(context, SP_INTERNAL, "the archive cannot be read back");
    lib->zip_source_close(source);
    return status;
}

sp_status sp_package_write(sp_context *context, const sp_part *parts, int count, FILE *stream)
{
    zip_error_t cause;
    zip_t *archive = NULL;
    const sp_libraries *lib;
    sp_status status = sp_libraries_open(context, &lib);
    if (status != SP_OK) return status;
    lib->zip_error_init(&cause);
    zip_source_t *source = lib->zip_source_buffer_create(NULL, 0, 0, &cause);
    if (source) archive = lib->zip_open_from_source(source, ZIP_TRUNCATE, &cause);
    if (!archive) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for an archive");
        goto done;
    }
    /* The source is read after the archive has been closed, because only closing completes it. */
    lib->zip_source_keep(source);
    int added = 1;
    for (int i = 0; added && i < count; i++) added = add_part(lib, archive, &parts[i]);
    if (!added || lib->zip_close(archive) != 0) {
        status = sp_fail(context, SP_INTERNAL, "the archive cannot be made: %s",
                         lib->zip_strerror(archive));
        lib->zip_discard(archive);
        goto done;
    }
    status = copy_out(context, lib, source, stream);
done:
    if (source) lib->zip_source_free(source);
    lib->zip_error_fini(&cause);
    return status;
}
