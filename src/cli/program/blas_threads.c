/* What OpenBLAS hears before main. It makes its threads while the program is loaded: each takes 8
 * MB of address space and a buffer of 128 MB more, for which it asks for ever where a limit (ulimit
 * -v) leaves none, and a thread that cannot be made ends the program by SIGINT. The program uses
 * BLAS on one thread only; the one place where OpenBLAS listens that early is the environment, and
 * a variable that the program sets itself comes too late. So the program brings its own getenv: it
 * answers for that one variable, and is the usual one for all others. Unlike all other names it
 * must be seen by the libraries (the Makefile hides them). */
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

__attribute__((visibility("default"))) char *getenv(const char *name)
{
    static char one[] = "1";
    const size_t length = strlen(name);
    if (!strcmp(name, "OPENBLAS_NUM_THREADS")) return one;
    for (char **entry = environ; entry && *entry; entry++)
        if (!strncmp(*entry, name, length) && (*entry)[length] == '=') return *entry + length + 1;
    return NULL;
}
