/* Does every piece of a network reach from platen to platen? */
#ifndef TESTS_CONNECTED_H
#define TESTS_CONNECTED_H

#include <strutpress/network.h>

/* Fail the test unless every connected piece, found anew, has joints on both platens and is counted
 * and numbered. */
void check_connected(const sp_network *network);

#endif
