#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <sys/resource.h>
#include <unistd.h>

static const double kept_back = 0.05; /* share of the free memory that is left to other programs */
static double pretended;

/* Read MemAvailable from /proc/meminfo (proc(5)). */
static double available(void)
{
    FILE *file = fopen("/proc/meminfo", "r");
    char line[256];
    double kilobytes = INFINITY;
    if (!file) return INFINITY;
    while (fgets(line, sizeof line, file))
        if (sscanf(line, "MemAvailable: %lf", &kilobytes) == 1) break;
    fclose(file);
    return 1024 * kilobytes;
}

/* Return the address space that the process has taken, which is what its limit counts: the first
 * number of /proc/self/statm (proc(5)). */
static double taken(void)
{
    FILE *file = fopen("/proc/self/statm", "r");
    double pages = 0;
    if (!file) return 0;
    if (fscanf(file, "%lf", &pages) != 1) pages = 0;
    fclose(file);
    return pages * (double)sysconf(_SC_PAGESIZE);
}

double sp_memory_free(void)
{
    struct rlimit limit;
    if (pretended > 0) return pretended;
    double bytes = available();
    if (getrlimit(RLIMIT_AS, &limit) == 0 && limit.rlim_cur != RLIM_INFINITY)
        bytes = fmin(bytes, fmax(0, (double)limit.rlim_cur - taken()));
    return bytes;
}

sp_status sp_memory_expect(sp_context *context, double bytes, const char *what)
{
    const double room = sp_memory_free();
    if (bytes <= (1 - kept_back) * room) return SP_OK;
    return sp_fail(context, SP_NO_MEMORY,
                   "%s needs about %.3g GB of memory, %.3g GB are free: fewer cells or fewer "
                   "elements per strut would fit",
                   what, 1e-9 * bytes, 1e-9 * room);
}

void sp_memory_pretend(double bytes)
{
    pretended = bytes;
}
