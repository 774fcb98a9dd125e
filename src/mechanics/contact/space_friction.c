/* How far a contact point in space has slid, and what its grip adds (E70). */
#include <math.h>

#include "contact/space_pair.h"

/* A point beside a piece: direction of the piece, the rest of the way to the point, across. */
typedef struct beside {
    double n[3], off[3], length, along;
} beside;

static void place(const sp_contact *contact, const sp_load *load, beside *at)
{
    const double *piece = contact->piece + 7 * load->on;
    double v[3];
    sp_contact_reach_space(contact->position, load->from, load->place, load->on, v);
    memcpy(at->n, piece + 4, sizeof at->n);
    at->length = piece[3];
    at->along = sp_dot(v, at->n);
    for (int i = 0; i < 3; i++) at->off[i] = v[i] - at->along * at->n[i];
}

void sp_contact_note_space(sp_contact *contact, sp_load load, double scale, const double g[3])
{
    beside at;
    place(contact, &load, &at);
    load.foot[0] = at.along / at.length;
    for (int i = 0; i < 3; i++) load.push[i] = -scale * g[i];
    sp_friction_note(&contact->friction, load);
}

/* Gradient and Hessian of the slip v.n - share |e| by v = p - a and e = b - a. */
static void slip_rows(const sp_load *load, const beside *at, double g[6], double h[36])
{
    const double i = 1 / at->length, share = load->foot[0], *n = at->n, *off = at->off;
    const double across = -i * (at->along * i + share);
    for (int x = 0; x < 3; x++) {
        g[x] = n[x];
        g[3 + x] = off[x] * i - share * n[x];
        for (int y = 0; y < 3; y++) {
            const double flat = (x == y) - n[x] * n[y];
            h[6 * x + y] = 0;
            h[6 * x + 3 + y] = h[6 * (3 + y) + x] = i * flat;
            h[6 * (3 + x) + 3 + y] = across * flat - i * i * (n[x] * off[y] + off[x] * n[y]);
        }
    }
}

static double rub_platen(sp_contact *contact, sp_grip *grip, double *gradient, sp_blocks *blocks)
{
    const sp_load *load = &grip->load;
    const double *p = contact->position + 3 * load->from, w[2] = {1 - load->place, load->place};
    const double slip[2] = {w[0] * p[0] + w[1] * p[3] - load->foot[0],
                            w[0] * p[2] + w[1] * p[5] - load->foot[1]};
    const int point[2] = {load->from, load->from + 1};
    double force[2], stiffness[3];
    const double energy = sp_friction_slide(&contact->friction, grip, slip, force, stiffness);
    sp_space_sum sum = {0};
    for (int i = 0, b = 0; i < 2; i++) {
        sum.g[3 * i] = w[i] * force[0];
        sum.g[3 * i + 2] = w[i] * force[1];
        for (int j = 0; j <= i; j++, b++) {
            const double k = w[i] * w[j];
            sum.h[b][0] = k * stiffness[0];
            sum.h[b][2] = sum.h[b][6] = k * stiffness[1];
            sum.h[b][8] = k * stiffness[2];
        }
    }
    sp_space_scatter(contact, point, 2, contact->platen_block + 3 * load->from, &sum, gradient,
                     blocks);
    return energy;
}

double sp_contact_rub_space(sp_contact *contact, sp_grip *grip, double *gradient, sp_blocks *blocks)
{
    const sp_load *load = &grip->load;
    if (load->on < 0) return rub_platen(contact, grip, gradient, blocks);
    beside at;
    place(contact, load, &at);
    const double slip[2] = {at.along - load->foot[0] * at.length, 0};
    const int point[4] = {load->from, load->from + 1, load->on, load->on + 1};
    double force[2], stiffness[3], g[6], h[36];
    const double energy = sp_friction_slide(&contact->friction, grip, slip, force, stiffness);
    slip_rows(load, &at, g, h);
    sp_friction_rows(6, force[0], stiffness[0], g, h);
    sp_space_sum sum = {0};
    sp_space_add_point(&sum, 0, load->place, 1, g, h);
    sp_space_scatter(contact, point, 4, grip->block, &sum, gradient, blocks);
    return energy;
}
