/* Loops over all rows of the law table, each prepared with constants it accepts. */
#ifndef TESTS_EVERY_LAW_H
#define TESTS_EVERY_LAW_H

#include "law/law.h"

/* Calls `check` with every law, uniaxial and in plane strain. */
void every_law(void (*check)(const sp_law *law));

#endif
