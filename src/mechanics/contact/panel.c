#include "contact/panel.h"

#include <math.h>

#include "base/so3.h"
#include "gap/segment.h"

/* Two parts of one panel press on each other when they are at least this far apart along it, in
 * touching distances and in bars: with a whole bar between them. */
static const double own_reach = 2.0, own_bars = 0.9;
/* Two panels go on into each other when the angle between them is wider than this (cosine), as
 * struts do (rules.c). */
static const double goes_on = -0.1;

static const sp_panel_bar *bar_of(const sp_model *model, int segment)
{
    return &model->network->strut_panel[model->point_strut[segment]];
}

static const sp_panel *panel_of(const sp_model *model, int segment)
{
    return &model->network->panel[bar_of(model, segment)->panel];
}

/* Find the joint line of two panels as ends (0: first line, 1: second) of either; returns 0 when
 * they share none. */
static int share_line(const sp_panel *p, const sp_panel *q, int *end_p, int *end_q)
{
    for (*end_p = 0; *end_p < 2; ++*end_p)
        for (*end_q = 0; *end_q < 2; ++*end_q)
            if (p->line[*end_p] == q->line[*end_q]) return 1;
    return 0;
}

/* Find the direction from one end of an unloaded panel to its other end. */
static void direction_from(const sp_model *model, const sp_panel *panel, int end, double d[3])
{
    const double *joint = model->network->joint_position;
    const double *a = joint + 3 * (size_t)panel->line[end] * (size_t)(panel->up + 1);
    const double *b = joint + 3 * (size_t)panel->line[1 - end] * (size_t)(panel->up + 1);
    for (int i = 0; i < 3; i++) d[i] = (b[i] - a[i]) / panel->length;
}

static double rest_square(const sp_contact *contact, int from, int to)
{
    const double *p = contact->rest_position + 3 * from, *q = contact->rest_position + 3 * to;
    const double d[3] = {p[3] - p[0], p[4] - p[1], p[5] - p[2]};
    const double e[3] = {q[3] - q[0], q[4] - q[1], q[5] - q[2]};
    return sp_segment_square(p, d, q, e);
}

/* Return 1 when two ends of the unloaded segments are nearer than `reach`: then the segments are
 * nearer, too. */
static int ends_are_near(const sp_contact *contact, int from, int to, double reach)
{
    for (int i = 0; i < 4; i++) {
        const double *p = contact->rest_position + 3 * (from + i / 2);
        const double *q = contact->rest_position + 3 * (to + i % 2);
        const double x = p[0] - q[0], y = p[1] - q[1], z = p[2] - q[2];
        if (x * x + y * y + z * z < reach * reach) return 1;
    }
    return 0;
}

int sp_panel_is_foot(const sp_model *model, int from, int to)
{
    return bar_of(model, from)->is_foot || bar_of(model, to)->is_foot;
}

/* Return the distance within which two bars may belong to one body. */
static double body_reach(double thickness, double bar)
{
    return fmax(own_reach * thickness, own_bars * bar);
}

double sp_panel_known_reach(const sp_model *model)
{
    const sp_network *network = model->network;
    double bar = 0;
    for (int i = 0; i < network->panel_count; i++)
        bar = fmax(bar, network->panel[i].length / network->panel[i].across);
    /* Bars that overlap are nearer than own_reach thicknesses. */
    return body_reach(model->thickest, bar);
}

int sp_panel_is_one_body(const sp_contact *contact, int from, int to)
{
    const sp_model *model = contact->model;
    const sp_panel *p = panel_of(model, from), *q = panel_of(model, to);
    int end_p, end_q;
    if (sp_panel_is_foot(model, from, to)) return 1;
    if (p != q) {
        double d[3], e[3];
        if (!share_line(p, q, &end_p, &end_q)) return 0;
        direction_from(model, p, end_p, d);
        direction_from(model, q, end_q, e);
        if (sp_dot(d, e) >= goes_on) return 0;
    }
    const double thickness = fmax(p->thickness, q->thickness);
    const double bar = fmax(p->length / p->across, q->length / q->across);
    const double reach = body_reach(thickness, bar);
    return ends_are_near(contact, from, to, reach) ||
           rest_square(contact, from, to) < reach * reach;
}

int sp_panel_is_in_joint(const sp_contact *contact, int from, double f, int to, double touch)
{
    const sp_model *model = contact->model;
    const sp_panel *p = panel_of(model, from), *q = panel_of(model, to);
    const double *along = bar_of(model, from)->along;
    const double at = (1 - f) * along[0] + f * along[1];
    int end_p, end_q;
    if (p == q || !share_line(p, q, &end_p, &end_q)) return 0;
    return (end_p == 0 ? at : p->length - at) < touch;
}

double sp_panel_pair_width(const sp_model *model, int from, int to)
{
    return sqrt(bar_of(model, from)->line_width * bar_of(model, to)->line_width);
}
