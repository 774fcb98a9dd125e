/* These are endless bodies of equal struts, each given by a box between planes of symmetry, and
 * their constants by beams. Solid elements of the same bodies are in
 * benchmarks/physics/solid_cell.h; their constants are kept in benchmarks/physics/joints.csv.
 *
 * Struts have length 1; those that a plane of symmetry cuts in their middle have length 1/2. */
#ifndef TESTS_STRUT_CELL_H
#define TESTS_STRUT_CELL_H

enum { STRUT_CELL_BARS = 512, STRUT_CELL_COUNT = 9 };

typedef struct strut_cell_bar {
    double end[2][3];
} strut_cell_bar;

typedef struct strut_cell {
    int dimension;    /* 2 or 3 */
    int oblong;       /* 1: along x and along y are two things */
    double side[3];   /* of the box; in the plane the third is 1 */
    double thickness; /* of every strut: strips in the plane, round in space */
    double fillet;    /* radius of the corners between neighbouring struts, plane only */
    double poisson;   /* ratio */
    int inside;       /* bars in the box come first, then their mirror images around it */
    int bar_count;
    strut_cell_bar bar[STRUT_CELL_BARS];
} strut_cell;

/* This is stress per strain over Young's modulus, by axes x y z. A planar cell fills
 * normal[0..1][0..1] and shear[2]; in space, where cells are cubic, normal[0] and shear[2] stand
 * for the others. */
typedef struct strut_cell_constants {
    double normal[3][3];
    double shear[3]; /* yz, zx, xy, per engineering shear strain */
    double share;    /* share of the box that is solid; not known of beams */
} strut_cell_constants;

extern const char
    *const strut_cell_name[STRUT_CELL_COUNT]; /* the first four and the last in the plane */

/* Return the cell of this name; ends the program where there is none. */
strut_cell strut_cell_named(const char *name, double thickness, double fillet, double poisson);

/* Find the small-strain constants of the struts as the library builds them, with a linear law
 * (plane strain in the plane) and zones of model.joint_zone = `rounding`. */
void strut_cell_beams(const strut_cell *cell, double rounding, strut_cell_constants *constants);

/* Return Young's modulus with free sides: along x, or at 45 degrees to it in the plane x y (of an
 * oblong cell, along y). */
double strut_cell_along(const strut_cell *cell, const strut_cell_constants *constants);
double strut_cell_across(const strut_cell *cell, const strut_cell_constants *constants);

#endif
