/* This checks that every piece of a network reaches from platen to platen. */
#ifndef TESTS_CONNECTED_H
#define TESTS_CONNECTED_H

#include <strutpress/network.h>

/* Find the connected pieces again, and fail the test unless each has joints on both platens and is
 * counted and numbered. */
void check_connected(const sp_network *network);

#endif
