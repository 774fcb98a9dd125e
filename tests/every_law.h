/* These loop over all rows of the law table, each prepared with constants that it accepts. */
#ifndef TESTS_EVERY_LAW_H
#define TESTS_EVERY_LAW_H

#include "law/law.h"

/* Return a table that the law of this name accepts: of a rubber, or of a filament that yields at 2
 * % (invented, with moduli of about 3 MPa). */
const char *every_law_table(const char *name);

/* Write this table into a file: `setting` receives "material.table=FILE". Returns FILE, a part of
 * it, for the test to remove. */
const char *every_law_write(const char *name, char *setting, size_t size);

/* Fill a case with the law of this name and constants that it accepts; the table is set
 * elsewhere. */
void every_law_constants(const char *name, sp_case *request);

/* Call `check` with every law, uniaxial and in plane strain. */
void every_law(void (*check)(const sp_law *law));

/* Do the same with relaxation, flow and, unless the law yields, softening around each law. */
void every_law_in_time(void (*check)(const sp_law *law));

/* Fill a case with a law in time: softening, relaxation over four decades, flow. */
void every_law_time(sp_case *request);

#endif
