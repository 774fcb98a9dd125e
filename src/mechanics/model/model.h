/* The model is the frozen mesh of one coupon: nodes, elements, contact chains and what the platens
 * hold.
 *
 * It is const after sp_model_build and shared by every state; nothing in it changes during a press.
 * Planar and spatial networks differ in the values of a node and in their element; in both, a
 * change of a node is a displacement and a turn. */
#ifndef SP_MODEL_H
#define SP_MODEL_H

#include <strutpress/network.h>

#include "law/law.h"
#include "model/spatial.h"
#include "section/section.h"

/* An unknown is free, held, or moved. */
enum { SP_FREE = 0, SP_HELD = 1, SP_MOVED = 2 }; /* SP_MOVED: goes down with the upper platen */

typedef struct sp_element {
    int node[2];
    int strut;
    double arm[2]
              [2]; /* from the node to the element's end, turning with the node (joint zone) [mm] */
    double length; /* stress-free length L                                          [mm] */
    double direction; /* phi0: stress-free direction                                   [rad] */
    double shear;     /* effective shear stiffness, E5 of docs/theory.md               [N] */
    int joint_end;    /* 1 or -1: asked at two places, one by the joint at its end A or B; 0: asked
                         in the middle. E222 */
} sp_element;

typedef struct sp_model {
    const sp_network *network; /* borrowed, outlives the model */
    double height;             /* gap of the platens, unloaded                          [mm] */
    double depth;              /* [mm] */
    int dimension;             /* 2 or 3: coordinates of a point */
    int values;   /* per node: 3 (x y theta); in space 7 (x y z and a unit quaternion) */
    int unknowns; /* per node: displacement and turn, 3; in space 6 (spin in fixed axes) */

    int node_count;      /* joints first, then the inner nodes of the struts */
    double *reference;   /* `values` per node, stress free                            [mm rad] */
    unsigned char *hold; /* `unknowns` per node: SP_FREE, SP_HELD, SP_MOVED; in space all spins are
                            held, or all but that about y, or all but that and one across it */
    int *unknown;        /* `unknowns` per node: index of the unknown, -1 when held or moved */
    int unknown_count;
    int some_follow; /* 1: there are nodes of which one spin alone is held (sp_model_follows) */

    int element_count;
    sp_element *element;         /* planar, else NULL; ordered by strut */
    sp_spatial_element *spatial; /* spatial, else NULL; ordered by strut */
    int *strut_element;          /* strut_count + 1: elements of strut s */
    /* Each strut has a section for its own thickness. Behind these, where ends of struts are
     * thicker, stand the sections of the elements whose thickness is another (see
     * sp_model_section). */
    int section_count;
    sp_section *section;                 /* planar, else NULL */
    sp_spatial_section *spatial_section; /* spatial, else NULL */
    int *element_section; /* NULL where no end is thicker or yields: 1 per element, its section */
    double *piece_thickness; /* NULL where no end is thicker: 1 per chain point, mean thickness of
                                the piece from there to the next [mm] */
    double *strut_width;     /* 1 per strut: width of a strut where it is pressed flat, area /
                                thickness; in the plane its depth              [mm] */
    double *strut_foot; /* 1 per strut: that width under a platen; of a panel its share of the panel
                           [mm] */
    int carriers;       /* connected pieces that reach from platen to platen and share its force */
    double stiffest;    /* largest axial stiffness E A of a strut                      [N] */

    /* The chain of a strut is a polyline of points from joint centre to joint centre. */
    int point_count;
    int *chain_first; /* strut_count + 1 */
    int *point_node;  /* node that a point is fixed to */
    int *point_strut;
    double *point_arm; /* `dimension` per point: arm from the node, 0 on the node [mm] */
    double *point_arc; /* arc length from joint A, stress free                  [mm] */

    double friction_struts, friction_platens; /* coefficients                            [-] */
    double contact_spacing; /* of the options                                            [-] */
    /* A quarter of the stiffness of a squashed layer at small strain; in plane strain, where the
     * volume is kept, this is G [MPa]. E245 */
    double layer_modulus;
    double thinnest; /* [mm] */
    double thickest; /* [mm] */
} sp_model;

typedef struct sp_model_options {
    int platens;            /* SP_PLATENS_* */
    int elements_per_strut; /* 0: from slenderness, see model.c */
    int section_points;
    double contact_spacing; /* of contact points along a strut, over the thinnest; 0: chosen */
    double friction_struts, friction_platens; /* coefficients of Coulomb's law; 0: none */
    double shear_factor;  /* of struts in space; 0: by their section, see section/spatial.h */
    const sp_model *like; /* NULL, or a model of the same struts: each gets as many elements */
} sp_model_options;

/* Return how many elements a strut of this free length gets; `in_space` 1: the strut belongs to a
 * network in space and is not a wall of layers. */
int sp_model_elements(const sp_model_options *options, int in_space, double free_length,
                      double thickness);

/* Return the bytes that a press of this many elements takes at least: those of a slender coupon,
 * whose factor is smaller than that of a bulky one. */
double sp_model_bytes(int dimension, double elements);

/* Mesh a network. `law` must outlive the model. Errors: SP_NO_MEMORY. On failure *model is empty.
 */
sp_status sp_model_build(sp_context *context, const sp_network *network, const sp_law *law,
                         const sp_model_options *options, sp_model *model);
void sp_model_free(sp_model *model);

/* Return the section of an element of a strut. */
static inline int sp_model_section(const sp_model *model, int strut, int element)
{
    return model->element_section ? model->element_section[element] : strut;
}

/* Return the mean thickness [mm] of the piece of a chain that begins at `point`, and its width
 * where it is pressed flat (see strut_width); `width` is the width of the whole strut. */
static inline double sp_model_piece_thickness(const sp_model *model, int point)
{
    return model->piece_thickness ? model->piece_thickness[point]
                                  : model->network->strut_thickness[model->point_strut[point]];
}

static inline double sp_model_piece_width(const sp_model *model, int point, double width)
{
    const int s = model->point_strut[point];
    if (!model->piece_thickness || model->dimension == 2 || model->network->strut_height[s] > 0)
        return width;
    return width * model->piece_thickness[point] / model->network->strut_thickness[s];
}

/* Return the law of all struts. */
static inline const sp_law *sp_model_law(const sp_model *model)
{
    return model->dimension == 2 ? model->section[0].law : model->spatial_section[0].law;
}

/* Return the two nodes of an element. */
static inline const int *sp_model_nodes(const sp_model *model, int element)
{
    return model->element ? model->element[element].node : model->spatial[element].node;
}

/* Find the small-strain bending stiffness of a strut about its softer axis [N mm2], and its radius
 * of gyration [mm]. */
double sp_model_bending(const sp_model *model, int strut);
double sp_model_gyration(const sp_model *model, int strut);

/* Return which spin of a node in space is held where it is one alone (0 to 2), else -1. */
static inline int sp_model_lone_spin(const sp_model *model, int node)
{
    const unsigned char *spin = model->hold + SP_SPATIAL_UNKNOWNS * node + 3;
    const int x = spin[0] != SP_FREE, y = spin[1] != SP_FREE, z = spin[2] != SP_FREE;
    return x + y + z == 1 ? y + 2 * z : -1;
}

/* Find where the line of a node that lies on a platen points: along z at rest where the spin `held`
 * is that about x (0), along x where it is that about z (2). `q` is the turn of the node. */
void sp_model_level_line(const double q[4], int held, double line[3]);

/* A turn of which one spin alone is held is held as a rotation: which rotations a node may have
 * does not depend on the way there, and the spin that is held follows the other two. A node on a
 * skin (held about y) has a quaternion without the part q_2; a line of a node that lies on a platen
 * (along x of one that is held about z, along z of one that is held about x) stays level. Return
 * which spin follows at x (`values` per node; 0 to 2, -1 for none), and how much of it a spin of 1
 * about each axis takes along: into `by`. E233 */
static inline int sp_model_follows(const sp_model *model, int node, const double *x, double by[3])
{
    const int held = model->some_follow ? sp_model_lone_spin(model, node) : -1;
    const double *q = x + model->values * node + 3;
    double line[3];
    if (held < 0) return -1;
    by[0] = by[1] = by[2] = 0;
    if (held == 1) {
        by[0] = q[3] / q[0];
        by[2] = -q[1] / q[0];
    } else {
        sp_model_level_line(q, held, line);
        by[2 - held] = line[held] / line[2 - held];
    }
    return held;
}

/* Set x (`values` per node) to base moved by scale x change (`unknowns` per node); x may be base.
 * Spins that follow from others (sp_model_follows) are added here. */
void sp_model_move(const sp_model *model, const double *base, double scale, const double *change,
                   double *x);

/* Find the change that moves `from` to `to`: sp_model_move with a scale of 1. */
void sp_model_change(const sp_model *model, const double *from, const double *to, double *change);

/* Set held and moved positions and turns of x (`values` per node) to what they are at platen travel
 * `shortening`. */
void sp_model_place_held(const sp_model *model, double shortening, double *x);

/* Find the positions (`dimension` per point) of all chain points for node values x. */
void sp_model_points(const sp_model *model, const double *x, double *position);

#endif
