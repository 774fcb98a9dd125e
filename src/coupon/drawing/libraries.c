/* libzip and libxml2, opened when they are needed; see libraries.h. */
#include "drawing/libraries.h"

#include <dlfcn.h>
#include <pthread.h>
#include <string.h>

static const char zip_file[] = "libzip.so.4", xml_file[] = "libxml2.so.2";

static sp_libraries opened;
static const char *missing; /* file or function; NULL: none */
static pthread_once_t once = PTHREAD_ONCE_INIT;

/* Copy the pointer through memcpy, since ISO C does not convert between pointers to data and to
 * functions. */
static void take(void *handle, const char *name, void *to, size_t size)
{
    void *found = dlsym(handle, name);
    if (found)
        memcpy(to, &found, size);
    else
        missing = name;
}

static void *open_one(const char *file)
{
    void *handle = dlopen(file, RTLD_LAZY | RTLD_LOCAL);
    if (!handle) missing = file;
    return handle;
}

static void open_both(void)
{
    void *zip = open_one(zip_file), *xml = open_one(xml_file);
    if (missing) return;
#define TAKE_ZIP(name) take(zip, #name, &opened.name, sizeof opened.name);
#define TAKE_XML(name) take(xml, #name, &opened.name, sizeof opened.name);
    SP_ZIP_FUNCTIONS(TAKE_ZIP)
    SP_XML_FUNCTIONS(TAKE_XML)
}

sp_status sp_libraries_open(sp_context *context, const sp_libraries **libraries)
{
    pthread_once(&once, open_both);
    *libraries = &opened;
    if (!missing) return SP_OK;
    return sp_fail(context, SP_NO_READ,
                   "%s cannot be opened; valid: %s and %s, on Debian 12 the packages libzip4 and "
                   "libxml2",
                   missing, zip_file, xml_file);
}
