/* This is the contact of struts with struts and with platens, from the onset to full compaction, in
 * the plane and in space.
 *
 * Every segment of a strut's chain carries contact points, in the middles of equal parts, as many
 * as keep them closer than the struts are thick. Each point presses on the straight segments of
 * other struts (and far parts of its own) within reach through the layer of line.h, and on the
 * platens. Both struts of a pair carry points, each with half the weight. */
#ifndef SP_CONTACT_H
#define SP_CONTACT_H

#include <strutpress/context.h>

#include "friction/friction.h"
#include "layer/memory.h"
#include "model/model.h"
#include "sparse/blocks.h"

/* These are two segments that are close enough to matter before the next search: the points of
 * either press against the other. */
typedef struct sp_candidate {
    int from, to; /* chain points that begin the two segments, from < to */
    double touch; /* distance of centrelines at which two such struts touch             [mm] */
    int layers;   /* where those of points that overlap are kept in sp_contact.layer, those on
                     `from` first; -1: nowhere */
    int listed;   /* its place in the short list, when it is there */
    /* 1: the layer between them is `touch` thick; 0: they never press on each other; -1: not worked
     * out yet. There are many pairs, so that a flag has one byte. */
    signed char presses;
    signed char walls;    /* of one layer: they press side by side, see wall.h */
    signed char overlaps; /* the layers of some points are less, each worked out where needed */
} sp_candidate;

/* This is a pair whose distance in the unloaded coupon decides from where it presses. It is kept,
 * so that no later search works that out again. */
typedef struct sp_known_pair {
    int to;     /* the later of its segments */
    int layers; /* as in sp_candidate; -1: they never press on each other */
} sp_known_pair;

/* With these numbers a pair of the short list is found to be out of reach without a look at its
 * candidate. */
typedef struct sp_brief {
    int from, to, overlaps, walls, layers;
    double touch;
} sp_brief;

/* The unloaded coupon says this of a pair in the plane. */
typedef enum sp_verdict { SP_UNJUDGED, SP_NEVER_PRESS, SP_PRESS, SP_PRESS_OVERLAPPING } sp_verdict;

/* This is a pair that the last search in the plane has met. */
typedef struct sp_judged_pair {
    unsigned to : 30, verdict : 2; /* the later of its segments, and an sp_verdict */
} sp_judged_pair;

typedef struct sp_platen_push {
    double upper, lower;   /* push of the platens on the struts [N] */
    double upper_on_walls; /* part of `upper` on walls of the perimeter, space only [N] */
    double moment[2]; /* of both about the x and z axes at the lower platen [N mm]; x: space only */
    /* d2E / d travel^2 with the free unknowns held, less what nodes that go down with the platen
     * have in their own blocks [N/mm]. */
    double tangent;
} sp_platen_push;

/* This is a pair as a search finds it in space, and a part of such a search: the pairs of a run of
 * segments. */
typedef struct sp_found_pair {
    int from, to, overlaps, layers; /* as in sp_candidate */
    float clear;                    /* as in sp_contact */
} sp_found_pair;

enum { SP_SEARCH_PARTS = 16 };

typedef struct sp_search_part {
    sp_found_pair *found;
    int count, capacity;
} sp_search_part;

/* The short list is ordered by distance in this many steps. */
enum { SP_NEAR_BUCKETS = 32 };

struct sp_contact_law; /* parts.h: functions that differ between planar and spatial */

typedef struct sp_contact {
    const sp_model *model;
    const struct sp_contact_law *law;
    double margin;      /* candidates reach this far beyond touching                    [mm] */
    double near_margin; /* candidates on the short list reach this far                [mm] */
    int candidate_count, candidate_capacity;
    sp_candidate *candidate;
    int near_count, near_capacity, *near; /* short list: candidates that may press before it is made
                              again, by how far they were apart then */
    int near_first[SP_NEAR_BUCKETS + 1];  /* where the pairs of each step of distance begin */
    unsigned char *bucket;                /* bucket_capacity: work space */
    int bucket_capacity;
    float *clear; /* clear_capacity, of each candidate in space: at the last search its segments
                     were at least so much further apart than where they touch [mm] */
    int clear_capacity;
    int *near_block; /* 10 per pair of the short list: blocks of the four nodes' lower pairs, row by
                        row; the first -1: not looked up or not there */
    int threads; /* that search and press in space, 0: one; pairs and their order are the same on
                    any number */
    struct sp_kept_sum *sums; /* work space of several threads that press; NULL on one */
    sp_search_part part[SP_SEARCH_PARTS]; /* work space of a search in space */
    double *layer; /* layers of the points of listed pairs that overlap; -1: not worked out [mm] */
    int layer_count, layer_capacity;
    double drift;    /* furthest move of a point since then, beside an even squash         [mm] */
    sp_brief *brief; /* near_count, of the short list */
    double *moves;   /* 4 per chain point: work space of sp_contact_safe_fraction */
    /* Arrays of points have d coordinates for each, 2 or 3. */
    double *position; /* d per chain point, at the last placing */
    double *turned;   /* d per chain point: arm turned with its node */
    double *searched; /* d per chain point: its place at the last search */
    double *listed;   /* d per chain point: its place when the short list was made */
    double *piece;    /* 2 d + 1 per chain point: middle, length and direction of its segment */
    double gap;       /* platen distance at the last placing [mm] */
    double searched_gap, listed_gap; /* at the last search, the last short list; 0: none [mm] */
    double *rest_position;           /* d per chain point: unloaded */
    double *depth_axis; /* stacked layers, else NULL: 3 per chain point, unit direction through the
                           depth as its node has turned */
    double *searched_axis, *listed_axis; /* as they were at the last search, the last short list */
    double *strut_axis; /* 3 per strut: unit direction from joint to joint, unloaded */
    int *platen_block;  /* 3 per chain point: blocks of its segment's nodes (first, lower pair,
                           second) */
    int *spread; /* 1 per chain point: number of contact points of its segment, in the middles of
                    equal parts */
    int *wall_spread; /* number against walls of its own layer and platens; NULL without layers */
    int *cell_first, *cell_item, cell_capacity; /* cell grid of segments */
    double *cell_ball;                          /* 4 per item: middle and reach */
    /* Panels have these from the second search on, else they are NULL: the known pairs of each
     * segment with later ones. All other pairs press from where they touch. */
    int *known_first; /* 1 per chain point, and the end */
    sp_known_pair *known;
    /* Each thread has 1 number per chain point: 1 + its known pair with the present segment, 0:
     * none. */
    int *known_mark;
    int known_count, known_capacity, known_layers;
    /* In the plane: the pairs of the last search by their earlier segment, so that the next one
     * judges only those that are new. */
    sp_judged_pair *judged;
    int judged_count, judged_capacity;
    int *judged_first; /* 1 per chain point, and the end */
    int *judged_mark;  /* 1 per chain point: verdict of its pair with the present segment */
    sp_friction friction;
    sp_layer_memory layers;
    int active;            /* pairs and points that carry force */
    double closest_square; /* at the last evaluation no pair was nearer than this [mm^2] */
    int missing; /* pairs that carry force but have no blocks: renew the pattern, evaluate again */
} sp_contact;

sp_status sp_contact_create(sp_context *context, const sp_model *model, sp_contact *contact);
void sp_contact_free(sp_contact *contact);

/* Place the chain points at x, with the platens `gap` apart; this comes before the calls below. */
void sp_contact_place(sp_contact *contact, const double *x, double gap);

/* Find the candidates and the short list again at the placed positions when points have moved so
 * far that pairs may be missing from them. Errors: SP_NO_MEMORY. */
sp_status sp_contact_refresh(sp_context *context, sp_contact *contact);

/* List the four nodes of two segments: the ends of `from`, then those of `to`. */
void sp_contact_nodes(const sp_model *model, int from, int to, int node[4]);

/* Take a new pattern and look up the blocks of the platen points. The blocks of candidates and
 * grips are looked up when they are next evaluated. */
void sp_contact_find_blocks(sp_contact *contact, const sp_blocks *blocks);

/* Return 1 when the pair, at its placed positions, belongs in the pattern. */
int sp_contact_is_near(sp_contact *contact, sp_candidate *candidate);

/* Return the energy [mJ] at the placed positions (see `missing`); add into gradient
 * (model->unknowns per node), blocks and coupling (unknown_count: d gradient / d travel). */
double sp_contact_eval(sp_contact *contact, double *gradient, sp_blocks *blocks,
                       sp_platen_push *push, double *coupling);

/* Make room to accept what was evaluated, under a law in time. Errors: SP_NO_MEMORY. */
sp_status sp_contact_reserve(sp_context *context, sp_contact *contact);

/* Copy the state of the layers from the contact `from` of a coupon that is alike, with as many
 * contact points on each segment. Errors: SP_NO_MEMORY. */
sp_status sp_contact_copy_layers(sp_context *context, const sp_contact *from, sp_contact *to);

/* Accept the evaluated state; see sp_friction_keep. `gradient` has `unknowns` per node and is that
 * of the evaluation. */
void sp_contact_keep(sp_contact *contact, const double *gradient, double travel);

/* Return the largest fraction, up to `most`, of the move `to - position` (d per chain point) along
 * which no pair comes close to crossing: relative motion stays below a share of each distance, and
 * no point moves so far that it could pass one that the last search left out. */
double sp_contact_safe_fraction(sp_contact *contact, const double *to, double most);

/* Return 1 when two struts that press on each other are nearer, at their placed positions, than
 * this share of the distance at which they touch. */
int sp_contact_is_crushed(sp_contact *contact, double share);

/* Return 1 when a piece of a strut is shorter, at its placed points, than this share of its
 * unloaded length: it has no direction then that others could press on. */
int sp_contact_lacks_length(const sp_contact *contact, double share);

#endif
