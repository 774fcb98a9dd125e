/* Broad phase: a cell grid of segments, queried by every segment, makes the candidates; a short list of those that may
 * press soon is taken from them more often. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "contact/contact.h"

/* Even squash of the coupon after which candidates are looked for again; short lists in proportion to their skin. */
static const double even_share = 0.1;
/* Segments shorter than this share of the thinnest strut are none. */
static const double no_length = 1e-6;

static sp_status add_candidate(sp_context *context, sp_contact *contact,
                               const sp_candidate *candidate)
{
    if (contact->candidate_count == contact->candidate_capacity) {
        const int capacity = 2 * contact->candidate_capacity + 256;
        sp_candidate *grown = sp_resize(contact->candidate, (size_t)capacity, sizeof *grown);
        if (!grown)
            return sp_fail(context, SP_NO_MEMORY, "no memory for %d contact pairs", capacity);
        contact->candidate = grown;
        int *near = sp_resize(contact->near, (size_t)capacity, sizeof *near);
        if (!near)
            return sp_fail(context, SP_NO_MEMORY, "no memory for %d contact pairs", capacity);
        contact->near = near;
        contact->candidate_capacity = capacity;
    }
    contact->candidate[contact->candidate_count++] = *candidate;
    return SP_OK;
}

/* A joint zone may have no length: there is nothing to press on, and no direction. */
static int is_segment(const sp_model *model, int k)
{
    return k + 1 < model->point_count && model->point_strut[k] == model->point_strut[k + 1] &&
           model->point_arc[k + 1] - model->point_arc[k] > no_length * model->thinnest;
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
    if (dx * dx + dy * dy > reach * reach || sp_contact_too_close_along(model, from, to, touch))
        return SP_OK;
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

static sp_status search(sp_context *context, sp_contact *contact)
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

static void make_short_list(sp_contact *contact)
{
    contact->near_count = 0;
    for (int i = 0; i < contact->candidate_count; i++) {
        sp_candidate *c = &contact->candidate[i];
        if (sp_contact_may_press(contact, c, c->touch + contact->near_skin))
            contact->near[contact->near_count++] = i;
    }
    memcpy(contact->listed, contact->position,
           2 * (size_t)contact->model->point_count * sizeof(double));
    contact->listed_gap = contact->gap;
}

/* 1 when points have moved so far since they were at `before` that two of them may be nearer by half the skin. */
static int have_moved(const sp_contact *contact, const double *before, double gap_before,
                      double skin)
{
    if (gap_before <= 0) return 1;
    /* The even squash of the whole coupon moves points far but neighbours together: only what departs from it counts,
     * a quarter of the skin for either of two points that approach each other. */
    const double squash = contact->gap / gap_before, limit = skin * skin / 16;
    if (fabs(squash - 1) > even_share * skin / contact->skin) return 1;
    for (int k = 0; k < 2 * contact->model->point_count; k += 2) {
        const double dx = contact->position[k] - before[k];
        const double dy = contact->position[k + 1] - before[k + 1] * squash;
        if (dx * dx + dy * dy > limit) return 1;
    }
    return 0;
}

sp_status sp_contact_refresh(sp_context *context, sp_contact *contact)
{
    if (contact->model->dimension == 3) return SP_OK;
    if (have_moved(contact, contact->searched, contact->searched_gap, contact->skin)) {
        sp_status status = search(context, contact);
        if (status != SP_OK) return status;
        contact->listed_gap = 0;
    }
    if (have_moved(contact, contact->listed, contact->listed_gap, contact->near_skin))
        make_short_list(contact);
    return SP_OK;
}
