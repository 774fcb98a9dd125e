/* This program compares the stiffness of the bodies of joints by solid elements with that of the
 * struts of the library (docs/theory.md, section 8). `joints FOLDER` writes joints.csv and
 * joints.md into it; where there is a joints.csv of an earlier run it takes the figures of the
 * solid elements from there, and works out those of rows that it lacks.
 *
 * Endless linear elastic lattices of equal struts (tests/strut_cell.h), with sharp or rounded
 * corners, are pulled along their struts, pulled across, and sheared, with free sides. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "solid_cell.h"

typedef struct row {
    int which;        /* of strut_cell_name */
    double thickness; /* of a strut 1 long */
    double fillet;    /* radius of the corners over the thickness */
    double poisson;   /* ratio */
    const int *grid;  /* elements to a thickness */
} row;

/* These are the elements per thickness of the two grids of a cell, in the plane and for each cell
 * in space, and of the two finer grids that are taken where the constants of the first two differ
 * by more than 3.5 %. */
static const int grid[][4] = {
    {12, 24, 24, 48}, {12, 20, 24, 40}, {12, 20, 24, 40}, {10, 16, 14, 22}, {10, 16, 14, 22}};
enum { rhombs = 8 }; /* of strut_cell_name */
static const double most_change = 0.035;
static const double poisson[2] = {0.49, 0.35}; /* plane strain, space */
static const double cauchy = 0.25; /* ratio at which struts that stretch are right in shear, too */

static FILE *open_in(const char *folder, const char *name)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "w");
    if (file) return file;
    fprintf(stderr, "joints: cannot write %s\n", path);
    exit(6);
}

static double figure(const strut_cell *cell, const strut_cell_constants *c, int which)
{
    if (which == 0) return strut_cell_along(cell, c);
    return which == 1 ? strut_cell_across(cell, c) : c->shear[2];
}

typedef struct figures {
    double value[3], bulk, share, change; /* along, across, shear */
} figures;

static figures figures_of(const strut_cell *cell, const strut_cell_constants *c, double change)
{
    figures f = {.share = c->share, .change = change};
    for (int i = 0; i < 3; i++) f.value[i] = figure(cell, c, i);
    f.bulk = (c->normal[0][0] + (cell->dimension - 1) * c->normal[0][1]) / cell->dimension;
    return f;
}

/* Return the constants by solid elements: the next row of an earlier run, or worked out. */
static figures solid_figures(const strut_cell *cell, const row *r, FILE *before)
{
    strut_cell_constants c;
    figures f = {0};
    double change;
    if (before && fscanf(before, " %*[^,],%*f,%*f,%*f,%*f,%lf,%lf,%lf,%lf,%lf,%lf", &f.value[0],
                         &f.value[1], &f.value[2], &f.bulk, &f.share, &f.change) == 6)
        return f;
    solid_refined(cell, r->grid[0], r->grid[1], &c, &change);
    if (change > most_change) solid_refined(cell, r->grid[2], r->grid[3], &c, &change);
    return figures_of(cell, &c, change);
}

static void put_row(FILE *before, FILE *csv, FILE *table, const row *r)
{
    const double rounding = 0.5 + 1.5 * r->fillet;
    const strut_cell cell = strut_cell_named(strut_cell_name[r->which], r->thickness,
                                             r->fillet * r->thickness, r->poisson);
    strut_cell_constants beams;
    const figures solid = solid_figures(&cell, r, before);
    strut_cell_beams(&cell, rounding, &beams);
    const figures zones = figures_of(&cell, &beams, 0);
    strut_cell_beams(&cell, 0, &beams);
    const figures none = figures_of(&cell, &beams, 0);
    char corners[32] = "sharp";
    if (r->fillet > 0) snprintf(corners, sizeof corners, "%.2g t", r->fillet);
    fprintf(csv, "%s,%g,%.4f,%g,%.3f", strut_cell_name[r->which], r->thickness, r->fillet,
            cell.poisson, rounding);
    fprintf(table, "| %s%s | %g | %s |", strut_cell_name[r->which],
            r->poisson == cauchy ? ", ratio 1/4" : "", r->thickness, corners);
    for (int i = 0; i < 3; i++) {
        fprintf(csv, ",%.6g", solid.value[i]);
        fprintf(table, " %.2f %+.1f %% |", solid.value[i] / none.value[i],
                100 * (zones.value[i] / solid.value[i] - 1));
    }
    fprintf(csv, ",%.6g,%.4f,%.4f\n", solid.bulk, solid.share, solid.change);
    fprintf(table, " %+.0f %% | %.1f %% |\n", 100 * (zones.bulk / solid.bulk - 1),
            100 * solid.change);
    fflush(csv);
    fflush(table);
}

int main(int count, char **argument)
{
    static const double plane[] = {0.1, 0.15, 0.2, 0.25};
    static const double fillet[] = {0, 1.0 / 3};
    if (count != 2 && count != 3) {
        fprintf(stderr, "usage: joints FOLDER [JOINTS.csv]\n");
        return 2;
    }
    FILE *before = count == 3 ? fopen(argument[2], "r") : NULL;
    if (count == 3 && (!before || fscanf(before, "%*[^\n]") == EOF)) return 3;
    FILE *csv = open_in(argument[1], "joints.csv"), *table = open_in(argument[1], "joints.md");
    fprintf(csv, "cell,thickness_over_length,fillet_over_thickness,poisson_ratio,joint_zone,"
                 "along,across,shear,bulk,solid_fraction,mesh_change\n");
    fprintf(
        table,
        "| struts | t/l_s | corners | along | across, 45 deg | shear | from all sides | mesh |\n"
        "|---|---|---|---|---|---|---|---|\n");
    for (int which = 0; which < rhombs; which++)
        for (int i = 0; i < 2; i++)
            for (int k = 0; k < 4; k++) {
                const int space = which >= 4;
                if (space && (i > 0 || k == 0)) continue;
                const row r = {which, plane[k], fillet[i], poisson[space],
                               grid[space ? which - 3 : 0]};
                put_row(before, csv, table, &r);
            }
    for (int which = 1; which < 4; which += 2) /* triangles and kagome */
        for (int i = 0; i < 2; i++)
            for (int k = 0; k < 4; k++) {
                const row r = {which, plane[k], fillet[i], cauchy, grid[0]};
                put_row(before, csv, table, &r);
            }
    for (int i = 0; i < 2; i++)
        for (int k = 0; k < 4; k++) {
            const row r = {rhombs, plane[k], fillet[i], poisson[0], grid[0]};
            put_row(before, csv, table, &r);
        }
    if (before) fclose(before);
    return fclose(csv) != 0 || fclose(table) != 0 ? 6 : 0;
}
