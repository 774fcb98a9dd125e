/* Keys that may change within a range. */
#ifndef SP_SEEK_VARIABLE_H
#define SP_SEEK_VARIABLE_H

#include "batch/plan_parts.h"

enum { SEEK_VARIABLE_MAX = 6 };

/* A key that may change, in the unit of sp_case. */
typedef struct seek_variable {
    char key[2 * SP_NAME_SIZE];
    int row;
    int whole; /* whole numbers: each of them is tried */
    double low, high, within;
} seek_variable;

/* Read `section.name: {from: A, to: B, within: W}` lines into variable[SEEK_VARIABLE_MAX], of which
 * *count are there already; `part` is what the file calls them. Errors as for sp_plan_parse. */
sp_status sp_seek_variables_read(plan_reader *r, const yaml_node_t *node, const char *part,
                                 seek_variable *variable, int *count);

double sp_seek_variable_value(const seek_variable *variable, const sp_case *request);
void sp_seek_variable_set(const seek_variable *variable, sp_case *request, double value);
/* Round a value to the grid of the search, finer than `within`, so that it reads well in a case
 * file; it stays inside the range. */
double sp_seek_variable_round(const seek_variable *variable, double value);
/* Write a value such as "12.4 %". */
void sp_seek_variable_text(const seek_variable *variable, double value, char *text, size_t size);

#endif
