/* libzip and libxml2, opened when they are needed; see libraries.h. */
#include "drawing/libraries.h"

#include <dlfcn.h>
#include <errno.h>
#include <pthread.h>
#include <string.h>

static const char zip_file[] = "libzip.so.4", xml_file[] = "libxml2.so.2";

static sp_libraries opened;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER; /* of all below */
static int is_open, lacks_memory;
static const char *missing; /* file or function; NULL: none */

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

/* The loader says in words alone why it failed: a library that is there may find no address space.
 */
static int was_short_of_memory(int error)
{
    const char *words = dlerror();
    return error == ENOMEM || (words && (strstr(words, "memory") || strstr(words, "map segment")));
}

static void *open_one(const char *file)
{
    errno = 0;
    void *handle = dlopen(file, RTLD_LAZY | RTLD_LOCAL);
    if (handle) return handle;
    if (was_short_of_memory(errno)) lacks_memory = 1;
    missing = file;
    return NULL;
}

static void open_both(void)
{
    missing = NULL;
    lacks_memory = 0;
    void *zip = open_one(zip_file), *xml = open_one(xml_file);
    if (missing) return;
#define TAKE_ZIP(name) take(zip, #name, &opened.name, sizeof opened.name);
#define TAKE_XML(name) take(xml, #name, &opened.name, sizeof opened.name);
    SP_ZIP_FUNCTIONS(TAKE_ZIP)
    SP_XML_FUNCTIONS(TAKE_XML)
    is_open = !missing;
}

sp_status sp_libraries_open(sp_context *context, const sp_libraries **libraries)
{
    pthread_mutex_lock(&lock);
    if (!is_open) open_both(); /* again, where there was no memory the last time */
    const char *lacking = is_open ? NULL : missing;
    const int no_memory = lacks_memory;
    pthread_mutex_unlock(&lock);
    *libraries = &opened;
    if (!lacking) return SP_OK;
    if (no_memory) return sp_fail(context, SP_NO_MEMORY, "no memory to open %s", lacking);
    return sp_fail(context, SP_NO_READ,
                   "%s cannot be opened; valid: %s and %s, on Debian 12 the packages libzip4 and "
                   "libxml2",
                   lacking, zip_file, xml_file);
}
