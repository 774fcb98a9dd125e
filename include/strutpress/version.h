/* The version of the library, and the fence around its public names.
 *
 * The macros tell what a program was compiled with, the functions what it runs with. While the
 * major version is 0, a new minor version may change structures; the name of the shared library
 * (libstrutpress.so.0.15) changes with it.
 *
 * The functions never fail and may be called from any thread; their texts live as long as the
 * program. */
#ifndef STRUTPRESS_VERSION_H
#define STRUTPRESS_VERSION_H

#define SP_VERSION_MAJOR 0
#define SP_VERSION_MINOR 15
#define SP_VERSION_PATCH 0
/* This number grows with each version: 0.15.0 is 1500. */
#define SP_VERSION_NUMBER (10000 * SP_VERSION_MAJOR + 100 * SP_VERSION_MINOR + SP_VERSION_PATCH)

/* What stands between these two in a public header is exported by the shared library and can be
 * called from C++. Every other name of the library is hidden. */
#ifdef __cplusplus
#define SP_PUBLIC_BEGIN                                                                            \
    _Pragma("GCC visibility push(default)") extern "C"                                             \
    {
#define SP_PUBLIC_END                                                                              \
    }                                                                                              \
    _Pragma("GCC visibility pop")
#else
#define SP_PUBLIC_BEGIN _Pragma("GCC visibility push(default)")
#define SP_PUBLIC_END _Pragma("GCC visibility pop")
#endif

SP_PUBLIC_BEGIN

const char *sp_version(void);    /* "0.15.0" */
int sp_version_number(void);     /* SP_VERSION_NUMBER of the library that runs */
const char *sp_build_text(void); /* compiler, flags and versions of its libraries in one line */

SP_PUBLIC_END

#endif
