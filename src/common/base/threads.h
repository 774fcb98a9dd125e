/* How many threads can be had: OpenMP ends the program when it cannot make one. */
#ifndef SP_BASE_THREADS_H
#define SP_BASE_THREADS_H

/* Return the number of threads, 1 .. wanted, that a parallel region can have. Call it before each
 * region that may be the first with so many threads: it creates that many threads once, so that a
 * limit on address space or on threads is met here and not inside OpenMP. */
int sp_thread_room(int wanted);

#endif
