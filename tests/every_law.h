/* These loop over all rows of the law table, each prepared with constants that it accepts. */
#ifndef TESTS_EVERY_LAW_H
#define TESTS_EVERY_LAW_H

#include "law/law.h"

/* Return a table that the law of this name accepts: of a rubber, or of a filament that yields at 2
 * % (invented, as moduli of about 3 MPa are). */
const char *every_law_table(const char *name);

/* Write the same into a file: `setting` receives "material.table=FILE". Returns FILE, a part of it,
 * for the test to remove. */
const char *every_law_write(const char *name, char *setting, size_t size);

/* Return a case with the law and constants that every law accepts; a table is set apart. */
void every_law_constants(const char *name, sp_case *request);

/* Call `check` with every law, uniaxial and in plane strain. */
void every_law(void (*check)(const sp_law *law));

/* Do the same with softening (not of a law that yields), relaxation and flow around each. */
void every_law_in_time(void (*check)(const sp_law *law));

/* Return a case of a law in time: softening, relaxation over four decades, flow. */
void every_law_time(sp_case *request);

#endif
