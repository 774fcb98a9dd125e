/* Settings for OpenBLAS and OpenMP before main. OpenBLAS makes its threads while the program is
 * loaded. Each takes 8 MB of address space and a buffer of 128 MB more; where a limit (ulimit -v)
 * leaves no room, OpenBLAS asks for it for ever, and when a thread cannot be made it ends the
 * program by SIGINT. The program uses BLAS on one thread only. The only setting that the libraries
 * read so early is the environment, and a variable that the program sets itself comes too late. So
 * the program brings its own getenv, which answers for two variables and is the usual one for all
 * others. Unlike all other names, which the Makefile hides, it must be visible to the libraries.
 *
 * Threads of OpenMP that wait for each other spin for some ten milliseconds before they sleep,
 * which is most of the time of a press where other programs want the same cores. Here they spin for
 * a tenth of a millisecond, unless the environment says how they wait. */
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char *from_environment(const char *name)
{
    const size_t length = strlen(name);
    for (char **entry = environ; entry && *entry; entry++)
        if (!strncmp(*entry, name, length) && (*entry)[length] == '=') return *entry + length + 1;
    return NULL;
}

__attribute__((visibility("default"))) char *getenv(const char *name)
{
    static char one[] = "1", spins[] = "2000";
    if (!strcmp(name, "OPENBLAS_NUM_THREADS")) return one;
    char *given = from_environment(name);
    if (given || strcmp(name, "GOMP_SPINCOUNT") != 0) return given;
    return from_environment("OMP_WAIT_POLICY") ? NULL : spins;
}
