/* The C library prints the slow way, several times as long for a number, as soon as any library
 * has told it of a conversion of its own. LAPACK, which CHOLMOD brings, loads libquadmath, and
 * that tells it of the numbers with 128 bits while the program is loaded; nothing here prints such
 * numbers. The first thing that it asks for is a type of argument. So the program brings its own
 * register_printf_type, which answers as the usual one does where there is no room for another
 * type, and libquadmath leaves the tables empty. Unlike all other names, which the Makefile hides,
 * it must be visible to the libraries. */
#include <errno.h>
#include <features.h>

#ifdef __GLIBC__
#include <printf.h>

__attribute__((visibility("default"))) int register_printf_type(printf_va_arg_function *fetch)
{
    (void)fetch;
    errno = ENOSPC;
    return -1;
}
#endif
