/* Who presses on whom, and from which distance (E11, E12). */
#include <math.h>

#include "contact/contact.h"
#include "contact/line.h"

/* Parts of one strut, or of two that go on from a joint, press on each other from this far along it (touching distances). */
static const double own_reach = 3.0;
/* Struts at a joint go on into each other when the angle between them is wider than this (cosine). */
static const double goes_on = -0.1;
/* Pairs that overlap deeper than this unloaded are one body (of the touching distance). */
static const double one_body = 0.25;
/* So are pieces in one straight line (offset, of the touching distance). */
static const double in_line = 0.3;
/* Slack under the unloaded distance of an overlapping pair, so that nothing is loaded by round-off or the first strains. */
static const double rest_slack = 0.97;

static int in_joint_zone(const sp_model *model, int segment)
{
    return model->point_node[segment] == model->point_node[segment + 1];
}

/* Distance along the strut from its end `end` (0: joint A) to the nearer end of a segment. */
static double arc_from(const sp_model *model, int segment, int end)
{
    const int s = model->point_strut[segment];
    return end == 0
               ? model->point_arc[segment]
               : model->point_arc[model->chain_first[s + 1] - 1] - model->point_arc[segment + 1];
}

/* Shared joint of two struts as ends (0: A, 1: B) of either; 0 when they share none. */
static int share_joint(const sp_network *network, int s, int r, int *end_s, int *end_r)
{
    for (*end_s = 0; *end_s < 2; ++*end_s)
        for (*end_r = 0; *end_r < 2; ++*end_r)
            if (network->strut_joint[2 * s + *end_s] == network->strut_joint[2 * r + *end_r])
                return 1;
    return 0;
}

/* Cosine of the angle between two struts at their shared joint. */
static double cosine_at(const sp_network *network, int s, int end_s, int r, int end_r)
{
    const double *js = network->joint_position + 3 * network->strut_joint[2 * s + end_s];
    const double *ks = network->joint_position + 3 * network->strut_joint[2 * s + 1 - end_s];
    const double *kr = network->joint_position + 3 * network->strut_joint[2 * r + 1 - end_r];
    const double ax = ks[0] - js[0], ay = ks[1] - js[1], bx = kr[0] - js[0], by = kr[1] - js[1];
    return (ax * bx + ay * by) / (hypot(ax, ay) * hypot(bx, by));
}

/* Layer of contact point `which` of segment `from` against segment `to`, from their distance unloaded. */
static double layer_of(const sp_contact *contact, int from, int to, int which, double touch)
{
    const double *y = contact->rest_position + 2 * to;
    double v[2];
    sp_contact_reach(contact->rest_position, from, which, to, v);
    const double e[2] = {y[2] - y[0], y[3] - y[1]};
    const double apart = sp_line_distance(v, e),
                 offset = fabs(v[0] * e[1] - v[1] * e[0]) / hypot(e[0], e[1]);
    if (apart < one_body * touch || (apart < touch && offset < in_line * touch)) return 0;
    return fmin(touch, rest_slack * apart);
}

void sp_contact_set_rest(const sp_contact *contact, sp_candidate *c)
{
    const sp_model *model = contact->model;
    const sp_network *network = model->network;
    const int s = model->point_strut[c->from], r = model->point_strut[c->to];
    const double touch = 0.5 * (network->strut_thickness[s] + network->strut_thickness[r]);
    int end_s, end_r;
    for (int i = 0; i < 4; i++) c->rest[i] = 0;
    if (share_joint(network, s, r, &end_s, &end_r)) {
        if (in_joint_zone(model, c->from) || in_joint_zone(model, c->to)) return;
        if (cosine_at(network, s, end_s, r, end_r) < goes_on) {
            const double path = arc_from(model, c->from, end_s) + arc_from(model, c->to, end_r);
            for (int i = 0; i < 4 && path >= own_reach * touch; i++) c->rest[i] = touch;
            return;
        }
    }
    for (int i = 0; i < 2; i++) {
        c->rest[i] = layer_of(contact, c->from, c->to, i, touch);
        c->rest[2 + i] = layer_of(contact, c->to, c->from, i, touch);
    }
}

/* Layer between a point and a platen. A strut that stands on the platen is one body with it where the two overlap. */
static double platen_layer(double half, double apart, int stands_on_it)
{
    if (apart < (stands_on_it ? 1 : one_body) * half) return 0;
    return fmin(half, rest_slack * apart);
}

/* Struts on a face lie on their platen; all others press on both through half their own thickness. */
void sp_contact_set_platens(sp_contact *contact)
{
    const sp_model *model = contact->model;
    for (int k = 0; k + 1 < model->point_count; k++) {
        const int s = model->point_strut[k];
        if (s != model->point_strut[k + 1]) continue;
        const int *joint = model->network->strut_joint + 2 * s;
        const unsigned char one = model->network->joint_face[joint[0]],
                            other = model->network->joint_face[joint[1]];
        const unsigned char lies = one & other, stands = one | other;
        const double half = 0.5 * model->network->strut_thickness[s];
        for (int i = 0; i < 2; i++) {
            const double y = sp_contact_height(contact, k, i);
            if (!(lies & SP_FACE_LOWER))
                contact->platen_rest[4 * k + i] = platen_layer(half, y, stands & SP_FACE_LOWER);
            if (!(lies & SP_FACE_UPPER))
                contact->platen_rest[4 * k + 2 + i] =
                    platen_layer(half, model->height - y, stands & SP_FACE_UPPER);
        }
    }
}

int sp_contact_too_close_along(const sp_model *model, int from, int to, double touch)
{
    return model->point_strut[from] == model->point_strut[to] &&
           model->point_arc[to] - model->point_arc[from + 1] < own_reach * touch;
}
