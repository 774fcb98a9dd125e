/* Write the build line of the run header: compiler, flags, library versions. */
#include <strutpress/version.h>

#include <pthread.h>
#include <stdio.h>
#include <yaml.h>

#include "sparse/sparse_version.h"

char *openblas_get_config(
    void); /* a function of OpenBLAS, whose header is not in every package's include path */

static char build_text[512];
static pthread_once_t build_text_once = PTHREAD_ONCE_INIT;

static void fill_build_text(void)
{
#ifdef __clang__
    const char *compiler = "clang " __clang_version__;
#else
    const char *compiler = "gcc " __VERSION__;
#endif
    char sparse[48];
    snprintf(build_text, sizeof build_text, "%s; %s; %s; libyaml %s; %s", compiler, SP_FLAGS,
             sp_sparse_library_text(sparse, sizeof sparse), yaml_get_version_string(),
             openblas_get_config());
}

const char *sp_build_text(void)
{
    pthread_once(&build_text_once, fill_build_text);
    return build_text;
}
