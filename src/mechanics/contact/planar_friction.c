/* These functions find how far a contact point in the plane has slid, and what its grip adds
 * (E70). */
#include <math.h>

#include "contact/planar.h"

/* This is a point in the frame of a piece. */
typedef struct in_frame {
    double n[2], t[2], length, along, aside;
} in_frame;

static void place(const sp_contact *contact, const sp_load *load, in_frame *at)
{
    const double *piece = contact->piece + 5 * load->on;
    double v[2];
    sp_contact_reach(2, contact->position, load->from, load->place, load->on, v);
    at->n[0] = piece[3], at->n[1] = piece[4];
    at->t[0] = -piece[4], at->t[1] = piece[3];
    at->length = piece[2];
    at->along = v[0] * at->n[0] + v[1] * at->n[1];
    at->aside = v[0] * at->t[0] + v[1] * at->t[1];
}

void sp_contact_note_planar(sp_contact *contact, sp_load load, double scale, const double g[2])
{
    in_frame at;
    place(contact, &load, &at);
    load.foot[0] = at.along / at.length;
    load.foot[1] = at.aside;
    for (int i = 0; i < 2; i++) load.push[i] = -scale * g[i];
    sp_friction_note(&contact->friction, load);
}

/* Find gradient and Hessian of the slip by v = p - a and e = b - a, from those of its parts along
 * the piece and aside of it: dn = t (t.de)/l, dt = -n (t.de)/l. */
static void slip_rows(const sp_grip *grip, const in_frame *at, double g[4], double h[16])
{
    const double c = grip->along[0], s = grip->along[1], i = 1 / at->length;
    const double m = at->along * i, eta = at->aside * i, *n = at->n, *t = at->t;
    const double en = -c * grip->load.foot[0], et = c * eta - s * m; /* of e, along n and t */
    const double nt = i * (s * m - c * eta), tt = i * (-c * m - c * grip->load.foot[0] - s * eta);
    for (int x = 0; x < 2; x++) {
        g[x] = c * n[x] + s * t[x];
        g[2 + x] = en * n[x] + et * t[x];
        for (int y = 0; y < 2; y++) {
            const double ve = i * (c * t[x] * t[y] - s * n[x] * t[y]); /* row v, column e */
            h[4 * x + y] = 0;
            h[4 * x + 2 + y] = h[4 * (2 + y) + x] = ve;
            h[4 * (2 + x) + 2 + y] = nt * (n[x] * t[y] + t[x] * n[y]) + tt * t[x] * t[y];
        }
    }
}

static double rub_platen(sp_contact *contact, sp_grip *grip, double *gradient, sp_blocks *blocks)
{
    const sp_load *load = &grip->load;
    const double *p = contact->position + 2 * load->from, w[2] = {1 - load->place, load->place};
    const double slip[2] = {w[0] * p[0] + w[1] * p[2] - load->foot[0], 0};
    const int point[2] = {load->from, load->from + 1};
    double force[2], stiffness[3];
    const double energy = sp_friction_slide(&contact->friction, grip, slip, force, stiffness);
    sp_pair_sum sum = {0};
    for (int i = 0, b = 0; i < 2; i++) {
        sum.g[2 * i] = w[i] * force[0];
        for (int j = 0; j <= i; j++, b++) sum.h[b][0] = w[i] * w[j] * stiffness[0];
    }
    sp_pair_scatter(contact, point, 2, contact->platen_block + 3 * load->from, &sum, gradient,
                    blocks);
    return energy;
}

double sp_contact_rub_planar(sp_contact *contact, sp_grip *grip, double *gradient,
                             sp_blocks *blocks)
{
    const sp_load *load = &grip->load;
    if (load->on < 0) return rub_platen(contact, grip, gradient, blocks);
    in_frame at;
    place(contact, load, &at);
    const double slip[2] = {grip->along[0] * (at.along - load->foot[0] * at.length) +
                                grip->along[1] * (at.aside - load->foot[1]),
                            0};
    const int point[4] = {load->from, load->from + 1, load->on, load->on + 1};
    double force[2], stiffness[3], g[4], h[16];
    const double energy = sp_friction_slide(&contact->friction, grip, slip, force, stiffness);
    slip_rows(grip, &at, g, h);
    sp_friction_rows(4, force[0], stiffness[0], g, h);
    sp_pair_sum sum = {0};
    const double vv[4] = {h[0], h[1], h[4], h[5]}, ev[4] = {h[8], h[9], h[12], h[13]};
    const double ee[4] = {h[10], h[11], h[14], h[15]};
    sp_pair_add_point(&sum, 0, load->place, 1, g, vv, ev, ee);
    sp_pair_scatter(contact, point, 4, grip->block, &sum, gradient, blocks);
    return energy;
}
