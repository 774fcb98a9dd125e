/* Points of pairs wait here until they are worked out together, in the plane or in space. planar.c
 * and spatial.c include this file after planar.h or spatial.h, and after they have set PAIR_POINTS,
 * the arrays of points, PAIR_EVAL, the function that works them out, and PAIR_NOTE, the function
 * that notes the load of a point for friction. */

/* What a pair adds, kept until those before it are added. */
struct sp_kept_sum {
    sp_candidate *pair;
    sp_pair_sum sum;
};

/* These points wait: the points of a pair follow each other, and pairs stay in order. */
typedef struct waiting {
    int count;
    sp_waiting_point point[SP_LINE_POINTS];
    PAIR_POINTS points;
    sp_candidate *pair; /* pair whose sum is being made, NULL: none */
    sp_pair_sum sum;
    double energy;            /* of the pairs that are done */
    double closest_square;    /* see sp_contact */
    struct sp_kept_sum *kept; /* sums that are added later; NULL: each is added at once */
    int kept_count;
} waiting;

PAIR_PART void begin_waiting(waiting *w, struct sp_kept_sum *kept)
{
    w->count = w->kept_count = 0;
    w->pair = NULL;
    w->kept = kept;
    w->energy = 0;
    w->closest_square = INFINITY;
}

/* Add the sum of a pair to the potential; returns its energy. */
PAIR_PART double add_pair(sp_contact *contact, sp_candidate *c, const sp_pair_sum *sum,
                          double *gradient, sp_blocks *blocks)
{
    if (!(sum->energy < INFINITY)) return sum->energy;
    const int point[4] = {c->from, c->from + 1, c->to, c->to + 1};
    int *block = sp_contact_block(contact, c);
    if (sp_contact_has_blocks(contact, blocks, c->from, c->to, block))
        sp_pair_scatter(contact, point, 4, block, sum, gradient, blocks);
    contact->active++;
    return sum->energy;
}

/* Add the sum in hand, or keep it. */
PAIR_PART void finish_pair(sp_contact *contact, waiting *w, double *gradient, sp_blocks *blocks)
{
    if (!w->pair) return;
    if (w->kept)
        w->kept[w->kept_count++] = (struct sp_kept_sum){w->pair, w->sum};
    else
        w->energy += add_pair(contact, w->pair, &w->sum, gradient, blocks);
    w->pair = NULL;
}

PAIR_PART void work_out(sp_contact *contact, waiting *w, double *gradient, sp_blocks *blocks)
{
    const PAIR_POINTS *at = &w->points;
    PAIR_EVAL(w->count, &w->points);
    for (int i = 0; i < w->count; i++) {
        const sp_waiting_point *p = &w->point[i];
        const double rest = at->rest[i], scale = p->weight * rest;
        double energy = at->energy[i];
        double g[2 * PAIR_D], vv[PAIR_BLOCK], ev[PAIR_BLOCK], ee[PAIR_BLOCK];
        for (int k = 0; k < 2 * PAIR_D; k++) g[k] = at->g[k][i];
        for (int k = 0; k < PAIR_BLOCK; k++)
            vv[k] = at->vv[k][i], ev[k] = at->ev[k][i], ee[k] = at->ee[k][i];
        if (contact->layers.on && energy < INFINITY &&
            !sp_contact_relax_pair(contact, sp_waiting_layer(contact, p), scale, PAIR_D, &energy, g,
                                   vv, ev, ee))
            continue;
        if (p->of != w->pair) {
            finish_pair(contact, w, gradient, blocks);
            w->pair = p->of;
            w->sum = (sp_pair_sum){0};
        }
        w->sum.energy += scale * energy;
        if (!(energy < INFINITY)) continue;
        sp_pair_add_point(&w->sum, p->back, p->place, scale, g, vv, ev, ee);
        if (contact->friction.first) PAIR_NOTE(contact, sp_waiting_load(p, rest), scale, g);
    }
    w->count = 0;
}
