/* This is the broad phase of contact. A grid of cells is asked for the neighbours of every segment,
 * which makes the candidates. A short list of those that may press soon is taken from them more
 * often. */
#include <math.h>
#include <omp.h>
#include <string.h>

#include "base/alloc.h"
#include "base/so3.h"
#include "contact/panel.h"
#include "contact/wall.h"

/* Candidates are looked for again when the coupon has been squashed evenly by this share, a short
 * list after a share in proportion to its margin. */
static const double even_share = 0.04;
/* Points may depart from the even squash by this share of the margin before candidates are looked
 * for again. The larger it is, the fewer searches there are, and the shorter the moves that are
 * safe with what the last search found. */
static const double drift_share = 0.4;
/* Segments shorter than this share of the thinnest strut are left out. */
static const double no_length = 1e-6;

static int is_in_space(const sp_contact *contact)
{
    return contact->model->dimension == 3 && !contact->depth_axis;
}

/* Return the number of threads that search: one in the plane and for walls of layers. */
static int thread_count(const sp_contact *contact)
{
    return is_in_space(contact) && contact->threads > 1 ? contact->threads : 1;
}

/* Make room for `count` candidates. */
static sp_status room_for_candidates(sp_context *context, sp_contact *contact, int count)
{
    if (count <= contact->candidate_capacity) return SP_OK;
    const int capacity = count + count / 4 + 256;
    sp_candidate *grown = sp_resize_large(contact->candidate, (size_t)contact->candidate_capacity,
                                          (size_t)capacity, sizeof *grown);
    if (!grown) return sp_fail(context, SP_NO_MEMORY, "no memory for %d contact pairs", capacity);
    contact->candidate = grown;
    contact->candidate_capacity = capacity;
    return SP_OK;
}

/* Make room to note how far the candidates are apart. */
static sp_status room_for_clear(sp_context *context, sp_contact *contact)
{
    const int capacity = contact->candidate_capacity;
    if (capacity <= contact->clear_capacity) return SP_OK;
    float *grown = sp_resize(contact->clear, (size_t)capacity, sizeof *grown);
    if (!grown) return sp_fail(context, SP_NO_MEMORY, "no memory for %d contact pairs", capacity);
    contact->clear = grown;
    contact->clear_capacity = capacity;
    return SP_OK;
}

static sp_status add_candidate(sp_context *context, sp_contact *contact,
                               const sp_candidate *candidate)
{
    const sp_status status =
        contact->candidate_count < contact->candidate_capacity
            ? SP_OK
            : room_for_candidates(context, contact, contact->candidate_count + 1);
    if (status == SP_OK) contact->candidate[contact->candidate_count++] = *candidate;
    return status;
}

/* Add a candidate in space with how far apart it is more than where it touches. */
static sp_status add_spatial_candidate(sp_context *context, sp_contact *contact,
                                       const sp_candidate *candidate, float clear)
{
    sp_status status = add_candidate(context, contact, candidate);
    if (status == SP_OK) status = room_for_clear(context, contact);
    if (status == SP_OK) contact->clear[contact->candidate_count - 1] = clear;
    return status;
}

/* Return 1 when a segment has a length. A joint zone may have none: then there is nothing to press
 * on, and no direction. */
static int is_segment(const sp_model *model, int k)
{
    return k + 1 < model->point_count && model->point_strut[k] == model->point_strut[k + 1] &&
           !sp_contact_is_bond(model, k) &&
           model->point_arc[k + 1] - model->point_arc[k] > no_length * model->thinnest;
}

static double touch_of(const sp_model *model, int from, int to)
{
    return 0.5 * (sp_model_piece_thickness(model, from) + sp_model_piece_thickness(model, to));
}

static sp_candidate pair_of(const sp_model *model, int from, int to)
{
    const double touch = touch_of(model, from, to);
    return (sp_candidate){.from = from,
                          .to = to,
                          .touch = touch,
                          .walls = (signed char)sp_contact_are_walls(model, from, to),
                          .layers = -1,
                          .listed = -1,
                          .presses = sp_contact_is_own(model, from, to) ? 1 : -1};
}

/* Return 1 for a pair of bars of panels of which is known, by the mark of its later one, that they
 * never press on each other. */
static int never_press(const sp_contact *contact, int mark, int from, int to)
{
    return mark > 0 ? contact->known[mark - 1].layers < 0
                    : sp_panel_is_foot(contact->model, from, to);
}

/* Put what is known of such a pair into the candidate. */
static void take_known(const sp_contact *contact, int mark, sp_candidate *pair)
{
    pair->presses = 1;
    if (mark == 0) return;
    pair->overlaps = 1;
    pair->layers = contact->known[mark - 1].layers;
}

/* Say what the unloaded coupon says of a pair in the plane. */
static sp_verdict judge(const sp_contact *contact, sp_candidate *pair)
{
    if (sp_contact_too_close_along(contact->model, pair->from, pair->to, pair->touch))
        return SP_NEVER_PRESS;
    if (!sp_contact_presses(contact, pair)) return SP_NEVER_PRESS;
    return pair->overlaps ? SP_PRESS_OVERLAPPING : SP_PRESS;
}

/* Make a candidate of a pair in the plane whose balls overlap, unless it never presses, as half of
 * them do. */
static sp_status try_planar_pair(sp_context *context, sp_contact *contact, void *unused, int from,
                                 int to)
{
    sp_verdict verdict = (sp_verdict)contact->judged_mark[to];
    sp_candidate found = {.touch = 0};
    (void)unused;
    if (verdict != SP_NEVER_PRESS) found = pair_of(contact->model, from, to);
    if (verdict == SP_UNJUDGED) verdict = judge(contact, &found);
    sp_judged_pair *grown = sp_grow(contact->judged, contact->judged_count,
                                    &contact->judged_capacity, 1024, sizeof *grown);
    if (!grown) return sp_fail(context, SP_NO_MEMORY, "no memory for contact pairs");
    contact->judged = grown;
    contact->judged[contact->judged_count++] =
        (sp_judged_pair){(unsigned)to & 0x3fffffff, verdict & 3};
    if (verdict == SP_NEVER_PRESS) return SP_OK;
    found.presses = 1;
    found.overlaps = verdict == SP_PRESS_OVERLAPPING;
    return add_candidate(context, contact, &found);
}

/* Make a candidate of a pair whose balls overlap, unless it never presses or is too far apart. This
 * serves walls of layers. */
static sp_status try_pair(sp_context *context, sp_contact *contact, void *unused, int from, int to)
{
    sp_candidate found = pair_of(contact->model, from, to);
    double distance;
    (void)unused;
    if (sp_contact_too_close_along(contact->model, from, to, found.touch) ||
        !contact->law->is_within(contact, &found, found.touch + contact->margin, &distance))
        return SP_OK;
    return add_candidate(context, contact, &found);
}

/* This is the part of a search in space that one thread works on. */
typedef struct part_in_hand {
    sp_search_part *part; /* NULL: one thread works on all, and its pairs are candidates at once */
    int *known_mark;      /* of this thread; NULL: no pairs are known */
} part_in_hand;

/* Do the same in space, where most pairs whose balls overlap are too far apart, or never press.
 * What is found goes to the present part of the search. */
static sp_status find_pair(sp_context *context, sp_contact *contact, void *user, int from, int to)
{
    const part_in_hand *hand = user;
    sp_search_part *part = hand->part;
    const int mark = hand->known_mark ? hand->known_mark[to] : 0;
    if (hand->known_mark && never_press(contact, mark, from, to)) return SP_OK;
    const double limit = touch_of(contact->model, from, to) + contact->margin;
    if (sp_contact_is_aside(contact, 3, from, to, limit)) return SP_OK;
    sp_candidate found = pair_of(contact->model, from, to);
    if (sp_contact_too_close_along(contact->model, from, to, found.touch)) return SP_OK;
    if (hand->known_mark) take_known(contact, mark, &found);
    double apart;
    if (!sp_contact_comes_within(contact, &found, limit, &apart)) return SP_OK;
    const float clear = (float)(apart - found.touch);
    found.presses = 1;
    if (!part) return add_spatial_candidate(context, contact, &found, clear);
    sp_found_pair *grown = sp_grow(part->found, part->count, &part->capacity, 1024, sizeof *grown);
    if (!grown) return sp_fail(context, SP_NO_MEMORY, "no memory for contact pairs");
    part->found = grown;
    part->found[part->count++] = (sp_found_pair){from, to, found.overlaps, found.layers, clear};
    return SP_OK;
}

/* Note a pair that is so near in the unloaded coupon that this distance decides from where it
 * presses. */
static sp_status know_pair(sp_context *context, sp_contact *contact, void *unused, int from, int to)
{
    sp_candidate pair = pair_of(contact->model, from, to);
    (void)unused;
    if (sp_panel_is_foot(contact->model, from, to)) return SP_OK;
    sp_contact_judge_pair(contact, &pair);
    if (pair.presses > 0 && !pair.overlaps) return SP_OK;
    sp_known_pair *grown = sp_grow(contact->known, contact->known_count, &contact->known_capacity,
                                   1024, sizeof *grown);
    if (!grown)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d pairs", contact->known_count + 1);
    contact->known = grown;
    sp_known_pair *known = &contact->known[contact->known_count++];
    *known = (sp_known_pair){to, -1};
    if (!(pair.presses > 0)) return SP_OK;
    known->layers = contact->known_layers;
    contact->known_layers += contact->spread[from] + contact->spread[to];
    return SP_OK;
}

typedef struct cells {
    double low[3], inverse[3];
    int n[3]; /* cells along each axis; one along z for the plane */
} cells;

static void cell_of(const cells *grid, int dimension, const double *p, int cell[3])
{
    cell[2] = 0;
    for (int i = 0; i < dimension; i++) {
        const int c = (int)floor((p[i] - grid->low[i]) * grid->inverse[i]);
        cell[i] = c < 0 ? 0 : c >= grid->n[i] ? grid->n[i] - 1 : c;
    }
}

static int cell_index(const cells *grid, int x, int y, int z)
{
    return (z * grid->n[1] + y) * grid->n[0] + x;
}

/* Return the height of the highest of stacked layers [mm]. */
static double layer_height(const sp_model *model)
{
    const sp_network *network = model->network;
    double most = 0;
    for (int s = 0; s < network->strut_count; s++)
        if (network->strut_piece[s].layer >= 0) most = fmax(most, network->strut_height[s]);
    return most;
}

/* Lay a grid over the middles of all segments, with cells as wide as the longest reach; walls press
 * on each other as far as their layer is high. */
static void lay_grid(const sp_contact *contact, cells *grid)
{
    const sp_model *model = contact->model;
    const int dimension = model->dimension;
    double high[3] = {-INFINITY, -INFINITY, -INFINITY}, longest = 0, aslant = 0, volume = 1;
    *grid = (cells){.low = {INFINITY, INFINITY, INFINITY}, .n = {1, 1, 1}};
    for (int k = 0; k < model->point_count; k++) {
        for (int d = 0; d < dimension; d++) {
            grid->low[d] = fmin(grid->low[d], contact->position[dimension * k + d]);
            high[d] = fmax(high[d], contact->position[dimension * k + d]);
        }
        if (!is_segment(model, k)) continue;
        longest = fmax(longest, contact->piece[(2 * dimension + 1) * k + dimension]);
        aslant = fmax(aslant, sp_wall_aslant(contact, k));
    }
    for (int d = 0; d < dimension; d++) volume *= high[d] - grid->low[d];
    const double reach = model->thickest + contact->margin + longest + 2 * aslant;
    const double share = volume / (4.0 * model->point_count + 64);
    const double width = fmax(reach, dimension == 2 ? sqrt(share) : cbrt(share));
    const double deep = contact->depth_axis ? layer_height(model) : 0;
    for (int d = 0; d < dimension; d++) {
        const double wide =
            d == 2 && contact->depth_axis ? fmax(width, deep + aslant * (1 + width / deep)) : width;
        grid->inverse[d] = 1 / wide;
        grid->n[d] = (int)((high[d] - grid->low[d]) / wide) + 1;
    }
}

/* Find the ball of a segment: its middle, and how far its half of the reach of a candidate goes
 * from there. Walls of layers may slip through the depth, so their ball is taken in the plane, in
 * which a wall that leans is seen aslant. */
static void put_ball(const sp_contact *contact, int k, double ball[4])
{
    const sp_model *model = contact->model;
    const int d = model->dimension;
    const double *piece = contact->piece + (2 * d + 1) * k;
    const int in_plane = d == 2 || contact->depth_axis;
    for (int i = 0; i < 3; i++) ball[i] = i < 2 || !in_plane ? piece[i] : 0;
    ball[3] = 0.5 * (piece[d] + contact->margin + sp_model_piece_thickness(model, k)) +
              sp_wall_aslant(contact, k);
}

/* Sort the segments into cells by counting. */
static sp_status fill_cells(sp_context *context, sp_contact *contact, cells *grid)
{
    const sp_model *model = contact->model;
    lay_grid(contact, grid);
    const int count = grid->n[0] * grid->n[1] * grid->n[2], d = model->dimension;
    if (count + 1 > contact->cell_capacity) {
        int *grown = sp_resize(contact->cell_first, 2 * (size_t)count + 2, sizeof(int));
        if (!grown) return sp_fail(context, SP_NO_MEMORY, "no memory for %d contact cells", count);
        contact->cell_first = grown;
        contact->cell_capacity = 2 * count + 2;
    }
    int *first = contact->cell_first;
    memset(first, 0, ((size_t)count + 1) * sizeof(int));
    double *ball = contact->cell_ball;
    for (int pass = 0; pass < 2; pass++) {
        for (int k = model->point_count - 1; k >= 0; k--) {
            if (!is_segment(model, k)) continue;
            int c[3];
            cell_of(grid, d, contact->piece + (2 * d + 1) * k, c);
            const int cell = cell_index(grid, c[0], c[1], c[2]);
            if (pass == 0) {
                first[cell]++;
                continue;
            }
            const int at = --first[cell];
            contact->cell_item[at] = k;
            put_ball(contact, k, ball + 4 * at);
        }
        if (pass == 0)
            for (int i = 1; i <= count; i++) first[i] += first[i - 1];
    }
    return SP_OK;
}

typedef sp_status (*visit)(sp_context *context, sp_contact *contact, void *user, int from, int to);

/* Visit the pairs of segment k, whose ball is `own`, with those after it in one cell. */
static sp_status pair_with_cell(sp_context *context, sp_contact *contact, visit pair, void *user,
                                int k, const double own[4], int cell)
{
    enum { AT_A_TIME = 32 };
    const int first = contact->cell_first[cell], *item = contact->cell_item;
    int hit[AT_A_TIME];
    /* Items of a cell stand in order, so that, counted from the back, the loop meets only those
     * after k. */
    for (int i = contact->cell_first[cell + 1] - 1; i >= first && item[i] > k;) {
        int hits = 0;
        /* Few of them are hits, at random places: noting all of them without a branch is faster
         * than a branch for each. */
        for (int left = AT_A_TIME; left > 0 && i >= first && item[i] > k; left--, i--) {
            const double *ball = contact->cell_ball + 4 * i, reach = own[3] + ball[3];
            const double x = own[0] - ball[0], y = own[1] - ball[1], z = own[2] - ball[2];
            hit[hits] = item[i];
            hits += x * x + y * y + z * z <= reach * reach;
        }
        for (int h = 0; h < hits; h++) {
            const sp_status status = pair(context, contact, user, k, hit[h]);
            if (status != SP_OK) return status;
        }
    }
    return SP_OK;
}

/* Keep the places of all points, and the directions in which layers lean there. */
static void note_places(const sp_contact *contact, double *position, double *axis)
{
    const size_t points = (size_t)contact->model->point_count;
    memcpy(position, contact->position,
           (size_t)contact->model->dimension * points * sizeof *position);
    if (axis) memcpy(axis, contact->depth_axis, 3 * points * sizeof *axis);
}

/* Visit all pairs of segment k with later segments whose balls overlap. */
static sp_status pair_segment(sp_context *context, sp_contact *contact, const cells *grid,
                              visit pair, void *user, int k)
{
    const int d = contact->model->dimension;
    int c[3], first[3], last[3];
    double own[4];
    sp_status status = SP_OK;
    put_ball(contact, k, own);
    cell_of(grid, d, contact->piece + (2 * d + 1) * k, c);
    for (int i = 0; i < 3; i++) {
        first[i] = c[i] > 0 ? c[i] - 1 : 0;
        last[i] = c[i] + 1 < grid->n[i] ? c[i] + 1 : c[i];
    }
    for (int z = first[2]; z <= last[2]; z++)
        for (int y = first[1]; y <= last[1]; y++)
            for (int x = first[0]; x <= last[0] && status == SP_OK; x++)
                status =
                    pair_with_cell(context, contact, pair, user, k, own, cell_index(grid, x, y, z));
    return status;
}

static void mark_known(const sp_contact *contact, int *known_mark, int k, int on)
{
    for (int i = contact->known_first[k]; i < contact->known_first[k + 1]; i++)
        known_mark[contact->known[i].to] = on ? i + 1 : 0;
}

/* Make room for `count` layers. */
static sp_status room_for_layers(sp_context *context, sp_contact *contact, int count)
{
    if (count <= contact->layer_capacity) return SP_OK;
    const int capacity = count + count / 2;
    double *grown = sp_resize(contact->layer, (size_t)capacity, sizeof *grown);
    if (!grown)
        return sp_fail(context, SP_NO_MEMORY, "no memory for the layers of %d contact points",
                       capacity);
    contact->layer = grown;
    contact->layer_capacity = capacity;
    return SP_OK;
}

/* Find the pairs that are near each other in the unloaded coupon, at whatever travel it is now. */
static sp_status know_pairs(sp_context *context, sp_contact *contact)
{
    const sp_model *model = contact->model;
    const size_t points = (size_t)model->point_count;
    double *const position = contact->position;
    const double margin = contact->margin;
    cells grid;
    contact->known_first = sp_alloc(points + 1, sizeof(int));
    contact->known_mark = sp_alloc(points * (size_t)thread_count(contact), sizeof(int));
    if (!contact->known_first || !contact->known_mark)
        return sp_fail(context, SP_NO_MEMORY, "no memory for the contact of %zu points", points);
    contact->position = contact->rest_position;
    sp_contact_place_pieces(contact);
    contact->margin = sp_panel_known_reach(model);
    sp_status status = fill_cells(context, contact, &grid);
    for (int k = 0; k < model->point_count && status == SP_OK; k++) {
        if (is_segment(model, k))
            status = pair_segment(context, contact, &grid, know_pair, NULL, k);
        contact->known_first[k + 1] = contact->known_count;
    }
    contact->position = position;
    sp_contact_place_pieces(contact);
    contact->margin = margin;
    if (status == SP_OK) status = room_for_layers(context, contact, contact->known_layers);
    for (int i = 0; i < contact->known_layers && status == SP_OK; i++) contact->layer[i] = -1;
    return status;
}

/* Search for the pairs of segments `first` to `last`. */
static sp_status search_part(sp_context *context, sp_contact *contact, const cells *grid, int first,
                             int last, sp_search_part *part, int *known_mark)
{
    part_in_hand hand = {part, contact->known_first ? known_mark : NULL};
    sp_status status = SP_OK;
    if (part) part->count = 0;
    for (int k = first; k < last && status == SP_OK; k++) {
        if (!is_segment(contact->model, k)) continue;
        if (hand.known_mark) mark_known(contact, known_mark, k, 1);
        status = pair_segment(context, contact, grid, find_pair, &hand, k);
        if (hand.known_mark) mark_known(contact, known_mark, k, 0);
    }
    return status;
}

/* Make candidates of the pairs that the parts of the search have found, part after part. */
static sp_status take_found(sp_context *context, sp_contact *contact)
{
    int first[SP_SEARCH_PARTS + 1] = {0};
    for (int i = 0; i < SP_SEARCH_PARTS; i++) first[i + 1] = first[i] + contact->part[i].count;
    sp_status status = room_for_candidates(context, contact, first[SP_SEARCH_PARTS]);
    if (status == SP_OK) status = room_for_clear(context, contact);
    if (status != SP_OK) return status;
    contact->candidate_count = first[SP_SEARCH_PARTS];
    for (int i = 0; i < SP_SEARCH_PARTS; i++)
        for (int j = 0; j < contact->part[i].count; j++) {
            const sp_found_pair *found = &contact->part[i].found[j];
            sp_candidate *c = &contact->candidate[first[i] + j];
            *c = pair_of(contact->model, found->from, found->to);
            c->presses = 1;
            c->overlaps = (signed char)found->overlaps;
            c->layers = found->layers;
            contact->clear[first[i] + j] = found->clear;
        }
    return SP_OK;
}

/* Search in space on several threads: segments are divided into runs, each of which one thread
 * works on. */
static sp_status search_in_parts(sp_context *context, sp_contact *contact, const cells *grid,
                                 int threads)
{
    const int count = contact->model->point_count;
    const size_t points = (size_t)count;
    sp_status status[SP_SEARCH_PARTS];
#pragma omp parallel for schedule(dynamic, 1) num_threads(threads)
    for (int i = 0; i < SP_SEARCH_PARTS; i++) {
        sp_context own = {0}; /* one thread keeps its own message */
        int *mark = contact->known_first
                        ? contact->known_mark + points * (size_t)omp_get_thread_num()
                        : NULL;
        status[i] =
            search_part(&own, contact, grid, (int)((long)count * i / SP_SEARCH_PARTS),
                        (int)((long)count * (i + 1) / SP_SEARCH_PARTS), &contact->part[i], mark);
    }
    for (int i = 0; i < SP_SEARCH_PARTS; i++)
        if (status[i] != SP_OK)
            return sp_fail(context, status[i], "no memory for the contact of %zu points", points);
    return take_found(context, contact);
}

static sp_status search_in_space(sp_context *context, sp_contact *contact, const cells *grid)
{
    const int threads = thread_count(contact);
    if (threads > 1) return search_in_parts(context, contact, grid, threads);
    return search_part(context, contact, grid, 0, contact->model->point_count, NULL,
                       contact->known_mark);
}

/* Set the marks of the pairs of segment k to their verdicts, or to none. */
static void mark_judged(const sp_contact *contact, int first, int last, int on)
{
    for (int i = first; i < last; i++)
        contact->judged_mark[contact->judged[i].to] = on ? (int)contact->judged[i].verdict : 0;
}

/* Search in the plane. The pairs of this search stand behind those of the one before, until all
 * segments are done. */
static sp_status search_in_plane(sp_context *context, sp_contact *contact, const cells *grid)
{
    const int points = contact->model->point_count, before = contact->judged_count;
    int *first = contact->judged_first;
    sp_status status = SP_OK;
    for (int k = 0; k < points && status == SP_OK; k++) {
        const int from = first[k], to = first[k + 1];
        first[k] = contact->judged_count - before;
        if (!is_segment(contact->model, k)) continue;
        mark_judged(contact, from, to, 1);
        status = pair_segment(context, contact, grid, try_planar_pair, NULL, k);
        mark_judged(contact, from, to, 0);
    }
    contact->judged_count -= before;
    first[points] = contact->judged_count;
    if (contact->judged_count > 0)
        memmove(contact->judged, contact->judged + before,
                (size_t)contact->judged_count * sizeof *contact->judged);
    return status;
}

static sp_status search(sp_context *context, sp_contact *contact)
{
    const sp_model *model = contact->model;
    /* A system that is searched only once needs no known pairs. */
    const int again = contact->searched_gap > 0;
    cells grid;
    sp_status status = SP_OK;
    if (again && model->network->strut_panel && !contact->known_first)
        status = know_pairs(context, contact);
    if (status == SP_OK) status = fill_cells(context, contact, &grid);
    contact->candidate_count = 0;
    contact->layer_count = contact->known_layers;
    if (status == SP_OK && is_in_space(contact))
        status = search_in_space(context, contact, &grid);
    else if (status == SP_OK && model->dimension == 2)
        status = search_in_plane(context, contact, &grid);
    else
        for (int k = 0; k < model->point_count && status == SP_OK; k++)
            if (is_segment(model, k))
                status = pair_segment(context, contact, &grid, try_pair, NULL, k);
    note_places(contact, contact->searched, contact->searched_axis);
    contact->searched_gap = contact->gap;
    return status;
}

/* Return the step of distance of a pair whose distance is `clear` more than that of touching. A
 * whole step can be left out by its first distance. */
static int bucket_of(const sp_contact *contact, double clear)
{
    if (!(clear > 0)) return 0;
    return 1 + (int)fmin(SP_NEAR_BUCKETS - 2, clear / contact->near_margin * (SP_NEAR_BUCKETS - 1));
}

void sp_contact_free_short_list(sp_contact *contact)
{
    const size_t room = (size_t)contact->near_capacity;
    sp_free_large(contact->near, room, sizeof *contact->near);
    sp_free_large(contact->brief, room, sizeof *contact->brief);
    sp_free_large(contact->near_block, 10 * room, sizeof *contact->near_block);
    contact->near = contact->near_block = NULL;
    contact->brief = NULL;
    contact->near_capacity = 0;
}

static sp_status reserve_short_list(sp_context *context, sp_contact *contact, int count)
{
    if (count <= contact->near_capacity) return SP_OK;
    const int capacity = count + count / 4 + 256;
    sp_contact_free_short_list(contact);
    contact->near_capacity = capacity;
    contact->near = sp_alloc_large((size_t)capacity, sizeof *contact->near);
    contact->brief = sp_alloc_large((size_t)capacity, sizeof *contact->brief);
    contact->near_block = sp_alloc_large(10 * (size_t)capacity, sizeof *contact->near_block);
    if (contact->near && contact->brief && contact->near_block) return SP_OK;
    sp_contact_free_short_list(contact);
    return sp_fail(context, SP_NO_MEMORY, "no memory for %d contact pairs", capacity);
}

enum { LEFT_OUT = 255 };

/* Return how much further apart than touching two segments were at the last search if they cannot
 * have come into the reach of the short list since then: by an even squash and by `drift`, the
 * furthest move of a point beside it. It is taken a little larger, for round-off. */
static double clear_for_sure(const sp_contact *contact, double drift)
{
    const double squash = fmin(1, contact->gap / contact->searched_gap),
                 thickest = contact->model->thickest;
    return (1 + no_length) * (contact->near_margin + 2 * drift + (1 - squash) * thickest) / squash +
           no_length * thickest;
}

/* Put a candidate into its step of distance for the short list, unless it was further apart than
 * `clear` at the last search. */
static void put_into_bucket(sp_contact *contact, int i, double clear)
{
    contact->bucket[i] = LEFT_OUT;
    if (is_in_space(contact) && contact->clear[i] > clear) return;
    sp_candidate *c = &contact->candidate[i];
    double distance;
    if (contact->law->is_within(contact, c, c->touch + contact->near_margin, &distance))
        contact->bucket[i] =
            (unsigned char)(c->walls ? 0 : bucket_of(contact, distance - c->touch));
}

static sp_status fill_buckets(sp_context *context, sp_contact *contact, double drift)
{
    const int count = contact->candidate_count, threads = thread_count(contact);
    const double clear = clear_for_sure(contact, drift);
    if (count > contact->bucket_capacity) {
        unsigned char *grown =
            sp_resize(contact->bucket, (size_t)contact->candidate_capacity, sizeof *grown);
        if (!grown) return sp_fail(context, SP_NO_MEMORY, "no memory for %d contact pairs", count);
        contact->bucket = grown;
        contact->bucket_capacity = contact->candidate_capacity;
    }
    if (threads > 1) {
#pragma omp parallel for schedule(static) num_threads(threads)
        for (int i = 0; i < count; i++) put_into_bucket(contact, i, clear);
    } else {
        for (int i = 0; i < count; i++) put_into_bucket(contact, i, clear);
    }
    return SP_OK;
}

/* List pairs by how far they are apart, so that an evaluation looks only at those that may press by
 * now. `drift` is how far a point has moved since the last search, beside an even squash. */
static sp_status make_short_list(sp_context *context, sp_contact *contact, double drift)
{
    int *first = contact->near_first;
    memset(first, 0, sizeof contact->near_first);
    contact->near_count = 0;
    sp_status status = fill_buckets(context, contact, drift);
    if (status != SP_OK) return status;
    for (int i = 0; i < contact->candidate_count; i++)
        if (contact->bucket[i] != LEFT_OUT) first[contact->bucket[i] + 1]++;
    for (int b = 0; b < SP_NEAR_BUCKETS; b++) first[b + 1] += first[b];
    status = reserve_short_list(context, contact, first[SP_NEAR_BUCKETS]);
    if (status != SP_OK) return status;
    contact->near_count = first[SP_NEAR_BUCKETS];
    int next[SP_NEAR_BUCKETS];
    memcpy(next, first, sizeof next);
    for (int i = 0; i < contact->candidate_count; i++) {
        if (contact->bucket[i] == LEFT_OUT) continue;
        sp_candidate *c = &contact->candidate[i];
        const int at = next[contact->bucket[i]]++;
        c->listed = at;
        contact->near[at] = i;
        contact->near_block[10 * (size_t)at] = -1;
        contact->brief[at] = (sp_brief){c->from, c->to, c->overlaps, c->walls, c->layers, c->touch};
    }
    note_places(contact, contact->listed, contact->listed_axis);
    contact->listed_gap = contact->gap;
    return SP_OK;
}

int sp_contact_near_within(const sp_contact *contact, double distance, double touch)
{
    /* Since the pairs were listed, their distances have become shorter by an even squash and by the
     * drift of both points beside it. */
    const double squash = fmin(1, contact->gap / contact->listed_gap);
    const double clear = (distance + 2 * contact->drift) / squash - touch;
    return contact->near_first[bucket_of(contact, clear) + 1];
}

static double even_limit(const sp_contact *contact, double margin)
{
    return even_share * margin / contact->margin;
}

double sp_contact_margin_left(const sp_contact *contact, double margin)
{
    return (1 - 2 * drift_share) * margin -
           even_limit(contact, margin) * (contact->model->thinnest + margin);
}

/* Return how far the side of a wall has moved that moved furthest [mm]: the move of its middle
 * beside the even squash, and what its lean has changed. */
static double furthest_side(const sp_contact *contact, const double *before, const double *axis,
                            double squash)
{
    double most = 0;
    for (int k = 0; k < contact->model->point_count; k++) {
        const double *now = contact->position + 3 * k, *then = before + 3 * k;
        const double x[3] = {now[0] - then[0], now[1] - then[1] * squash, now[2] - then[2]};
        most = fmax(most, sqrt(sp_dot(x, x)) + sp_wall_turned(contact, k, axis));
    }
    return most;
}

/* Return 1 when points have moved so far since they were at `before` that two of them may have used
 * up their share of the margin. `axis` holds the depth directions at that time. */
static int have_moved(const sp_contact *contact, const double *before, const double *axis,
                      double gap_before, double margin, double *furthest)
{
    double most = 0;
    if (gap_before <= 0) return 1;
    /* The even squash of the whole coupon moves points far but neighbours together: only what
     * departs from it counts. */
    const double squash = contact->gap / gap_before, drift = drift_share * margin;
    const double limit = drift * drift;
    if (fabs(squash - 1) > even_limit(contact, margin)) return 1;
    const int d = contact->model->dimension;
    for (int k = 0; k < d * contact->model->point_count; k += d) {
        const double dx = contact->position[k] - before[k];
        const double dy = contact->position[k + 1] - before[k + 1] * squash;
        const double dz = d == 3 ? contact->position[k + 2] - before[k + 2] : 0;
        const double square = dx * dx + dy * dy + dz * dz;
        if (square > most) most = square;
        if (square > limit) return 1;
    }
    *furthest = axis ? furthest_side(contact, before, axis, squash) : sqrt(most);
    return *furthest > drift;
}

/* Keep room for the layers of the points of listed pairs that overlap unloaded. */
static sp_status keep_layers(sp_context *context, sp_contact *contact)
{
    const int before = contact->layer_count;
    for (int i = 0; i < contact->near_count; i++) {
        sp_candidate *c = &contact->candidate[contact->near[i]];
        if (!c->overlaps || c->layers >= 0) continue;
        const int *spread = c->walls ? contact->wall_spread : contact->spread;
        c->layers = contact->brief[i].layers = contact->layer_count;
        contact->layer_count += spread[c->from] + spread[c->to];
    }
    const sp_status status = room_for_layers(context, contact, contact->layer_count);
    if (status != SP_OK) return status;
    for (int i = before; i < contact->layer_count; i++) contact->layer[i] = -1;
    return SP_OK;
}

/* Return the largest number of points that the pairs of the short list and the platens can load. */
static int most_loads(const sp_contact *contact)
{
    const sp_model *model = contact->model;
    int most = 0;
    for (int i = 0; i < contact->near_count; i++) {
        const sp_candidate *c = &contact->candidate[contact->near[i]];
        if (c->walls)
            most += (contact->wall_spread[c->from] + contact->wall_spread[c->to]) * SP_WALL_LEVELS;
        else
            most += contact->spread[c->from] + contact->spread[c->to];
    }
    for (int k = 0; k < model->point_count; k++)
        most += 2 * (contact->depth_axis ? contact->wall_spread[k] * SP_WALL_LEVELS
                                         : contact->spread[k]);
    return most;
}

sp_status sp_contact_refresh(sp_context *context, sp_contact *contact)
{
    double drift;
    if (have_moved(contact, contact->searched, contact->searched_axis, contact->searched_gap,
                   contact->margin, &drift)) {
        sp_status status = search(context, contact);
        if (status != SP_OK) return status;
        contact->listed_gap = 0;
        drift = 0;
    }
    if (!have_moved(contact, contact->listed, contact->listed_axis, contact->listed_gap,
                    contact->near_margin, &contact->drift))
        return SP_OK;
    sp_status status = make_short_list(context, contact, drift);
    contact->drift = 0;
    if (status == SP_OK && thread_count(contact) > 1)
        status = sp_contact_reserve_sums(context, contact);
    if (status == SP_OK) status = keep_layers(context, contact);
    if (status != SP_OK || !contact->friction.first) return status;
    return sp_friction_reserve(context, &contact->friction, most_loads(contact));
}
