/* Buffers of OpenBLAS: it keeps one for each thread that is inside of it, and where a limit on address space leaves none it
 * asks for ever. */
#ifndef SP_SPARSE_BLAS_ROOM_H
#define SP_SPARSE_BLAS_ROOM_H

#include <strutpress/context.h>

/* Have OpenBLAS make buffers for so many threads now, where a lack of room can be told. Errors: SP_NO_MEMORY. */
sp_status sp_blas_room(sp_context *context, int threads);

#endif
