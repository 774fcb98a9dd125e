/* Is a network one piece from platen to platen? */
#ifndef TESTS_CONNECTED_H
#define TESTS_CONNECTED_H

#include <strutpress/network.h>

/* Fail the test unless struts lead from every joint to every other and some joint is on either platen. */
void check_connected(const sp_network *network);

#endif
