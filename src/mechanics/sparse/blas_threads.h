/* BLAS on one thread while presses run: coupons run beside each other, not the blocks of their matrices, and sums of several
 * threads would differ in their last digits from machine to machine. */
#ifndef SP_SPARSE_BLAS_THREADS_H
#define SP_SPARSE_BLAS_THREADS_H

/* The first to enter sets OpenBLAS to one thread, the last to leave sets it to what the host program had, unless the host has
 * changed the number meanwhile. From any thread. */
void sp_blas_enter(void);
void sp_blas_leave(void);

#endif
