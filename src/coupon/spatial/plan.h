/* How the cells of a spatial pattern lie in the coupon: size of a cell along each axis, diameter,
 * turn and origin. */
#ifndef SP_SPATIAL_PLAN_H
#define SP_SPATIAL_PLAN_H

#include "spatial/rules.h"
#include "pattern/cell.h"

typedef struct sp_spatial_plan {
    const sp_case *request;
    const sp_cell_row *row;
    sp_lattice lattice; /* periodic cells */
    int whole;          /* 1: cells_x, cells_y, cells_z give the cell */
    double cell[3];     /* cell length along the axes of the lattice [mm] */
    double diameter;    /* [mm] */
    /* Of the endless lattice (docs/theory.md E52); for random cells, as asked for or found. */
    double density;
    double turn[3][3]; /* lattice axes to coupon axes */
    double origin[3];  /* place of the lattice's origin [mm] */
    sp_lines lines;    /* in cell lengths, all that touch the coupon */
} sp_spatial_plan;

/* Find the third of density, cell and diameter from two of them. Errors: SP_BAD_CASE (one line that
 * names the key), SP_NO_MEMORY. Free with sp_spatial_plan_free, also after a failure. */
sp_status sp_spatial_plan_make(sp_context *context, const sp_case *request, sp_spatial_plan *plan);
void sp_spatial_plan_free(sp_spatial_plan *plan);

/* Make the graph of the lines of the plan, clipped at the coupon and cleaned. */
sp_status sp_spatial_plan_place(sp_context *context, const sp_spatial_plan *plan, sp_graph *graph);

/* Say how many struts the cells will make, how long and how thick [mm] they are on average; this is
 * known before they are built. */
typedef struct sp_spatial_count {
    double struts, length, diameter;
} sp_spatial_count;

/* Give the case the values that follow from its other values, with origin SP_ORIGIN_DERIVED, count
 * its struts, and warn of stretched cells. For a planar pattern nothing is done and no struts are
 * counted. Errors as sp_spatial_plan_make. */
sp_status sp_spatial_derive(sp_context *context, sp_case *request, sp_spatial_count *count);

/* frame.c: add the plates and frames that the case asks for to a clean lattice. */
sp_status sp_spatial_add_frames(sp_context *context, const sp_case *request, double diameter,
                                sp_graph *graph);

/* Build the whole network of a case with a spatial pattern. */
sp_status sp_spatial_build(sp_context *context, const sp_case *request, int with_flaws,
                           sp_network *network);

#endif
