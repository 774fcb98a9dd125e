/* The frozen mesh of one coupon: nodes, elements, contact chains and what the platens hold.
 *
 * Const after sp_model_build and shared by every state; nothing here changes during a press. */
#ifndef SP_MODEL_H
#define SP_MODEL_H

#include <strutpress/network.h>

#include "law/law.h"
#include "section/section.h"

/* What holds an unknown. */
enum { SP_FREE = 0, SP_HELD = 1, SP_MOVED = 2 }; /* SP_MOVED: goes down with the upper platen */

typedef struct sp_element {
    int node[2];
    int strut;
    double arm[2]
              [2]; /* from the node to the element's end, turning with the node (joint zone) [mm] */
    double length; /* stress-free length L                                          [mm] */
    double direction; /* phi0: stress-free direction                                   [rad] */
    double shear;     /* effective shear stiffness, E5 of docs/theory.md               [N] */
} sp_element;

typedef struct sp_model {
    const sp_network *network; /* borrowed, outlives the model */
    double height;             /* gap of the platens, unloaded                          [mm] */
    double depth;              /* [mm] */
    int dimension;

    int node_count;      /* joints first, then the inner nodes of the struts */
    double *reference;   /* 3 per node: x y theta, stress free                    [mm mm rad] */
    unsigned char *hold; /* 3 per node: SP_FREE, SP_HELD, SP_MOVED */
    int *unknown;        /* 3 per node: index of the unknown, -1 when held or moved */
    int unknown_count;

    int element_count;
    sp_element *element; /* ordered by strut */
    int *strut_element;  /* strut_count + 1: elements of strut s */
    sp_section *section; /* 1 per strut */

    /* Chains: every strut as a polyline of points, joint centre to joint centre. */
    int point_count;
    int *chain_first; /* strut_count + 1 */
    int *point_node;  /* node a point rides on */
    int *point_strut;
    double *point_arm; /* 2 per point: arm from the node, 0 0 on the node       [mm] */
    double *point_arc; /* arc length from joint A, stress free                  [mm] */

    double layer_modulus; /* G of the squashed layers, small strain                [MPa] */
    double thinnest;      /* [mm] */
    double thickest;      /* [mm] */
} sp_model;

typedef struct sp_model_options {
    int platens;            /* SP_PLATENS_* */
    int elements_per_strut; /* 0: from slenderness, see model.c */
    int section_points;
} sp_model_options;

/* Mesh a network. `law` must outlive the model. Errors: SP_NO_MEMORY. On failure *model is empty. */
sp_status sp_model_build(sp_context *context, const sp_network *network, const sp_law *law,
                         const sp_model_options *options, sp_model *model);
void sp_model_free(sp_model *model);

/* Positions (2 per point) of all chain points for node values x (3 per node). */
void sp_model_points(const sp_model *model, const double *x, double *position);

#endif
