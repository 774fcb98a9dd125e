/* These functions make a filament from tests of its material: from strain and stress over time they
 * fit law, softening, relaxation and flow, and write a file that `material.filament` reads.
 *
 * Units: MPa, s, fractions. Ownership: tests and fit belong to the caller, who frees them; tests
 * must outlive the fit. Errors: each function names its own. Threads: tests may be read by several
 * at once. */
#ifndef STRUTPRESS_MATERIAL_H
#define STRUTPRESS_MATERIAL_H

#include <stdio.h>

#include <strutpress/context.h>

SP_PUBLIC_BEGIN

#define SP_MATERIAL_FILE 1024

typedef struct sp_material_tests sp_material_tests;
typedef struct sp_material sp_material;

/* Return 1 when a file of tests is one of a material: it has the part `material`. A file that
 * cannot be read is none. */
int sp_material_is_tested(const char *file);

/* Read and check a YAML file of tests (docs/calibrate.md) and the records that it names. Errors:
 * SP_NO_READ, SP_BAD_CASE ("file:line: ... received ...; valid: ..."), SP_NO_MEMORY. */
sp_status sp_material_tests_read(sp_context *context, const char *file, sp_material_tests **tests);
sp_status sp_material_tests_parse(sp_context *context, const char *name, const char *text,
                                  size_t size, sp_material_tests **tests);
void sp_material_tests_free(sp_material_tests *tests); /* accepts NULL */

/* Fit the values, and fit them again without each test in turn. Errors: SP_INTERRUPTED,
 * SP_NO_MEMORY. */
sp_status sp_material_fit(sp_context *context, const sp_material_tests *tests,
                          sp_material **material);
void sp_material_free(sp_material *material); /* accepts NULL */

/* Write filament.yaml with its table filament.csv, material.csv (measured and fitted stress) and
 * material.svg into a folder, all files or none; then read the filament back, and compare its law
 * with the fit. Errors: SP_NO_WRITE, SP_NO_MEMORY, SP_INTERNAL. */
sp_status sp_material_write(sp_context *context, sp_material *material, const char *folder);

/* Print a table for people: fitted values with their bands, what each test determines, measured and
 * fitted figures of every test. Errors: SP_NO_WRITE. */
sp_status sp_material_table(sp_context *context, const sp_material *material, FILE *stream);

SP_PUBLIC_END

#endif
