/* The number of threads of BLAS, which is one number for the whole process; see blas_threads.h. */
#include "sparse/blas_threads.h"

#include <pthread.h>

#include <cblas.h>

static pthread_mutex_t turn = PTHREAD_MUTEX_INITIALIZER;
static int inside;       /* presses that run */
static int host_threads; /* of the host program, while there are some */

void sp_blas_enter(void)
{
    pthread_mutex_lock(&turn);
    if (inside++ == 0) {
        host_threads = openblas_get_num_threads();
        if (host_threads != 1) openblas_set_num_threads(1);
    }
    pthread_mutex_unlock(&turn);
}

void sp_blas_leave(void)
{
    pthread_mutex_lock(&turn);
    if (--inside == 0 && host_threads != 1 && openblas_get_num_threads() == 1)
        openblas_set_num_threads(host_threads);
    pthread_mutex_unlock(&turn);
}
