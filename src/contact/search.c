/* Broad phase: a cell grid of segments, queried by every segment. The rules of who presses on whom are in pair_rest. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
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
    const double *x = contact->rest_position + 2 * from, *y = contact->rest_position + 2 * to;
    const double f = sp_contact_place_at[which];
    const double v[2] = {(1 - f) * x[0] + f * x[2] - y[0], (1 - f) * x[1] + f * x[3] - y[1]};
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

static sp_status add_candidate(sp_context *context, sp_contact *contact,
                               const sp_candidate *candidate)
{
    if (contact->candidate_count == contact->candidate_capacity) {
        const int capacity = 2 * contact->candidate_capacity + 256;
        sp_candidate *grown = sp_resize(contact->candidate, (size_t)capacity, sizeof *grown);
        if (!grown)
            return sp_fail(context, SP_NO_MEMORY, "no memory for %d contact pairs", capacity);
        contact->candidate = grown;
        contact->candidate_capacity = capacity;
    }
    contact->candidate[contact->candidate_count++] = *candidate;
    return SP_OK;
}

static int is_segment(const sp_model *model, int k)
{
    return k + 1 < model->point_count && model->point_strut[k] == model->point_strut[k + 1];
}

/* Parts of one strut press on each other only from some way along it. */
static int too_close_along(const sp_model *model, int from, int to, double touch)
{
    return model->point_strut[from] == model->point_strut[to] &&
           model->point_arc[to] - model->point_arc[from + 1] < own_reach * touch;
}

static sp_status try_pair(sp_context *context, sp_contact *contact, int from, int to)
{
    const sp_model *model = contact->model;
    const double *thickness = model->network->strut_thickness;
    const double *p = contact->piece + 5 * from, *q = contact->piece + 5 * to;
    const double touch =
        0.5 * (thickness[model->point_strut[from]] + thickness[model->point_strut[to]]);
    const double reach = touch + contact->skin + 0.5 * (p[2] + q[2]);
    const double dx = p[0] - q[0], dy = p[1] - q[1];
    if (dx * dx + dy * dy > reach * reach || too_close_along(model, from, to, touch)) return SP_OK;
    const int own = model->point_strut[from] == model->point_strut[to];
    return add_candidate(context, contact,
                         &(sp_candidate){.from = from,
                                         .to = to,
                                         .touch = touch,

                                         .block = {-1},
                                         .rest = {own ? touch : -1, touch, touch, touch}});
}

typedef struct cells {
    double x0, y0, inverse;
    int nx, ny;
} cells;

static int cell_of(const cells *grid, double x, double origin, int n)
{
    const int c = (int)floor((x - origin) * grid->inverse);
    return c < 0 ? 0 : c >= n ? n - 1 : c;
}

/* Grid over the middles of all segments, cells as wide as the longest reach. */
static void lay_grid(const sp_contact *contact, cells *grid)
{
    const sp_model *model = contact->model;
    double low[2] = {INFINITY, INFINITY}, high[2] = {-INFINITY, -INFINITY}, longest = 0;
    for (int k = 0; k < model->point_count; k++) {
        for (int d = 0; d < 2; d++) {
            low[d] = fmin(low[d], contact->position[2 * k + d]);
            high[d] = fmax(high[d], contact->position[2 * k + d]);
        }
        if (is_segment(model, k)) longest = fmax(longest, contact->piece[5 * k + 2]);
    }
    const double reach = model->thickest + contact->skin + longest,
                 area = (high[0] - low[0]) * (high[1] - low[1]);
    const double width = fmax(reach, sqrt(area / (4.0 * model->point_count + 64)));
    *grid = (cells){.x0 = low[0], .y0 = low[1], .inverse = 1 / width};
    grid->nx = (int)((high[0] - low[0]) / width) + 1;
    grid->ny = (int)((high[1] - low[1]) / width) + 1;
}

static int cell_at(const cells *grid, const double p[2])
{
    return cell_of(grid, p[1], grid->y0, grid->ny) * grid->nx +
           cell_of(grid, p[0], grid->x0, grid->nx);
}

/* Counting sort of the segments into cells. */
static sp_status fill_cells(sp_context *context, sp_contact *contact, cells *grid)
{
    const sp_model *model = contact->model;
    lay_grid(contact, grid);
    const int count = grid->nx * grid->ny;
    if (count + 1 > contact->cell_capacity) {
        int *grown = sp_resize(contact->cell_first, 2 * (size_t)count + 2, sizeof(int));
        if (!grown) return sp_fail(context, SP_NO_MEMORY, "no memory for %d contact cells", count);
        contact->cell_first = grown;
        contact->cell_capacity = 2 * count + 2;
    }
    int *first = contact->cell_first;
    memset(first, 0, ((size_t)count + 1) * sizeof(int));
    for (int pass = 0; pass < 2; pass++) {
        for (int k = model->point_count - 1; k >= 0; k--) {
            if (!is_segment(model, k)) continue;
            const int cell = cell_at(grid, contact->piece + 5 * k);
            if (pass == 0)
                first[cell]++;
            else
                contact->cell_item[--first[cell]] = k;
        }
        if (pass == 0)
            for (int i = 1; i <= count; i++) first[i] += first[i - 1];
    }
    return SP_OK;
}

sp_status sp_contact_search(sp_context *context, sp_contact *contact)
{
    const sp_model *model = contact->model;
    cells grid;
    sp_status status = fill_cells(context, contact, &grid);
    contact->candidate_count = 0;
    for (int k = 0; k < model->point_count && status == SP_OK; k++) {
        const double *p = contact->piece + 5 * k;
        if (!is_segment(model, k)) continue;
        const int cx = cell_of(&grid, p[0], grid.x0, grid.nx),
                  cy = cell_of(&grid, p[1], grid.y0, grid.ny);
        for (int y = cy > 0 ? cy - 1 : 0; y <= cy + 1 && y < grid.ny; y++)
            for (int x = cx > 0 ? cx - 1 : 0; x <= cx + 1 && x < grid.nx; x++)
                /* items of a cell stand in order: from the back, only those after k */
                for (int i = contact->cell_first[y * grid.nx + x + 1] - 1;
                     i >= contact->cell_first[y * grid.nx + x] && contact->cell_item[i] > k &&
                     status == SP_OK;
                     i--)
                    status = try_pair(context, contact, k, contact->cell_item[i]);
    }
    memcpy(contact->searched, contact->position, 2 * (size_t)model->point_count * sizeof(double));
    contact->searched_gap = contact->gap;
    return status;
}

int sp_contact_is_stale(const sp_contact *contact)
{
    if (contact->searched_gap <= 0) return 1;
    /* The even squash of the whole coupon moves points far but neighbours together: only what departs from it counts,
     * a quarter of the skin for either of two points that approach each other. */
    const double squash = contact->gap / contact->searched_gap,
                 limit = contact->skin * contact->skin / 16;
    if (squash < 0.9 || squash > 1.1) return 1;
    for (int k = 0; k < 2 * contact->model->point_count; k += 2) {
        const double dx = contact->position[k] - contact->searched[k];
        const double dy = contact->position[k + 1] - contact->searched[k + 1] * squash;
        if (dx * dx + dy * dy > limit) return 1;
    }
    return 0;
}

void sp_contact_nodes(const sp_model *model, const sp_candidate *candidate, int node[4])
{
    for (int i = 0; i < 2; i++) {
        node[i] = model->point_node[candidate->from + i];
        node[2 + i] = model->point_node[candidate->to + i];
    }
}
