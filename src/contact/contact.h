/* Contact of struts with struts and with platens, from the onset to full compaction.
 *
 * Every segment of a strut's chain carries two contact points, at a quarter and three quarters of it. Each presses on
 * the straight segments of other struts (and far parts of its own) within reach through the layer of line.h, and on the
 * platens. Both struts of a pair carry points, each with half the weight. */
#ifndef SP_CONTACT_H
#define SP_CONTACT_H

#include <strutpress/context.h>

#include "model/model.h"
#include "sparse/blocks.h"

/* Two segments close enough to matter before the next search: the points of either against the other. */
typedef struct sp_candidate {
    int from, to; /* chain points that begin the two segments, from < to */
    double touch; /* distance of centrelines at which two such struts touch             [mm] */
    double rest
        [4]; /* layer thickness of the two points of `from`, the two of `to`: `touch`, less where they overlap
                          unloaded, 0: never presses; rest[0] -1: not worked out yet         [mm] */
    int block
        [10]; /* blocks of the four nodes' lower pairs, row by row; block[0] -1: not looked up or not there */
} sp_candidate;

typedef struct sp_contact {
    const sp_model *model;
    double skin;      /* candidates reach this far beyond touching                    [mm] */
    double near_skin; /* those on the short list this far                             [mm] */
    int candidate_count, candidate_capacity;
    sp_candidate *candidate;
    int near_count, *near; /* short list: candidates that may press before it is made again */
    double *position;      /* 2 per chain point, at the last placing */
    double *turned;        /* 2 per chain point: arm turned with its node */
    double *searched;      /* 2 per chain point: where they were at the last search */
    double *listed;        /* 2 per chain point: where they were when the short list was made */
    double *piece; /* 5 per chain point: middle x y, length and direction x y of its segment */
    double gap;    /* platen distance at the last placing [mm] */
    double searched_gap, listed_gap; /* at the last search, the last short list; 0: none [mm] */
    double *rest_position;           /* 2 per chain point: unloaded */
    double *
        platen_rest; /* 4 per chain point: layers of its segment's two points at lower, upper platen; 0 none */
    int *
        platen_block; /* 3 per chain point: blocks of its segment's nodes (first, lower pair, second) */
    int *cell_first, *cell_item, cell_capacity; /* cell grid of segments */
    int active;                                 /* pairs and points that carry force */
    double closest_square; /* at the last evaluation no pair was nearer than this [mm^2] */
    int missing; /* pairs that carry force but have no blocks: renew the pattern, evaluate again */
} sp_contact;

/* Where the two contact points lie on a segment. */
static const double sp_contact_place_at[2] = {0.25, 0.75};

sp_status sp_contact_create(sp_context *context, const sp_model *model, sp_contact *contact);
void sp_contact_free(sp_contact *contact);

/* Positions of the chain points at x, platens `gap` apart; call before the calls below. */
void sp_contact_place(sp_contact *contact, const double *x, double gap);

/* Find the candidates and the short list again at the placed positions, when points have moved so far that pairs may be
 * missing. Errors: SP_NO_MEMORY. */
sp_status sp_contact_refresh(sp_context *context, sp_contact *contact);

/* Height of one of the two contact points of a segment, where it is placed [mm]. */
static inline double sp_contact_height(const sp_contact *contact, int segment, int which)
{
    const double f = sp_contact_place_at[which], *a = contact->position + 2 * segment;
    return (1 - f) * a[1] + f * a[3];
}

/* From the beginning of segment `to` to one of the two contact points of segment `from`, at `position` (2 per chain
 * point). */
static inline void sp_contact_reach(const double *position, int from, int which, int to,
                                    double v[2])
{
    const double f = sp_contact_place_at[which], *x = position + 2 * from, *y = position + 2 * to;
    for (int d = 0; d < 2; d++) v[d] = (1 - f) * x[d] + f * x[2 + d] - y[d];
}

/* Work out contact->platen_rest at the unloaded positions. */
void sp_contact_set_platens(sp_contact *contact);

/* 1 when two segments of one strut, from < to, are too near along it to press on each other. */
int sp_contact_too_close_along(const sp_model *model, int from, int to, double touch);

/* Work out c->rest: who presses on whom, and from which distance. */
void sp_contact_set_rest(const sp_contact *contact, sp_candidate *c);

/* 0 when the two segments never press on each other, or are further apart than `limit` for certain; inlined, because most
 * are. */
static inline int sp_contact_may_press(const sp_contact *contact, sp_candidate *c, double limit)
{
    const double *p = contact->piece + 5 * c->from, *q = contact->piece + 5 * c->to;
    const double dx = p[0] - q[0], dy = p[1] - q[1], reach = limit + 0.5 * (p[2] + q[2]);
    if (dx * dx + dy * dy >= reach * reach) return 0;
    if (c->rest[0] < 0) sp_contact_set_rest(contact, c);
    return c->rest[0] + c->rest[1] + c->rest[2] + c->rest[3] > 0;
}

/* Four nodes of a candidate: ends of `from`, ends of `to`. */
void sp_contact_nodes(const sp_model *model, const sp_candidate *candidate, int node[4]);

/* Take a new pattern: blocks of the platen points, those of the candidates at their next contact. */
void sp_contact_find_blocks(sp_contact *contact, const sp_blocks *blocks);

/* 1 when the pair, where it is placed, belongs in the pattern. */
int sp_contact_is_near(sp_contact *contact, sp_candidate *candidate);

typedef struct sp_platen_push {
    double upper, lower; /* push of the platens on the struts [N] */
    double tangent;      /* d upper / d travel with the struts held [N/mm] */
} sp_platen_push;

/* Energy [mJ] at the placed positions (see `missing`); adds into gradient (3 per node), blocks and coupling
 * (unknown_count: d gradient / d travel). */
double sp_contact_eval(sp_contact *contact, double *gradient, sp_blocks *blocks,
                       sp_platen_push *push, double *coupling);

/* Largest fraction, up to `most`, of the move `to - position` (2 per chain point) along which no pair comes close to
 * crossing: relative motion stays below a share of each distance, no point moves so far that it could pass one
 * the last search left out. */
double sp_contact_safe_fraction(sp_contact *contact, const double *to, double most);

#endif
