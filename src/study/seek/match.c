/* A measured curve as the target: which coupon feels like this piece of foam? Two figures compare a
 * coupon with it. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "case/case_parts.h"
#include "measure/curve.h"
#include "seek/seek_parts.h"

enum { STRETCHES = 80 };
static const double usual_misfit = 0.15;
/* The mean force of the answer over that of the target; the lightest coupon within these bounds is
 * taken. */
static const double force_least = 0.98, force_most = 1.08;

/* Figures of a target with a match; each compares the curve of a coupon with that of the target. */
static const sp_figure_row rows[SEEK_MATCH_FIGURES] = {
    {"misfit",
     "-",
     {"", ""},
     "root mean square of force less the target's, over its mean (E208)",
     NULL},
    {"match_force", "-", {"", ""}, "mean force over that of the target (E209)", NULL},
};

int sp_seek_match_find(const sp_target *target, const char *text, sp_figure *figure)
{
    for (int i = 0; target->match.curve.count && i < SEEK_MATCH_FIGURES; i++)
        if (!strcmp(text, rows[i].name)) {
            *figure = (sp_figure){.unit = rows[i].unit, .measure = -1, .row = &rows[i]};
            snprintf(figure->name, sizeof figure->name, "%s", rows[i].name);
            return 1;
        }
    return 0;
}

int sp_seek_match_is(const sp_figure *figure)
{
    return figure->row >= rows && figure->row < rows + SEEK_MATCH_FIGURES;
}

/* ---- comparing ----------------------------------------------- */

static double place_in_mm(const seek_place *place, double height)
{
    return place->of_strain ? place->value * height : place->value;
}

void sp_seek_match_range(const sp_target *target, double height, double *from, double *to)
{
    *from = place_in_mm(&target->match.from, height);
    *to = place_in_mm(&target->match.to, height);
}

/* Interpolate straight between the places that are given, and extend beyond them; 1 without any. */
static double weight_at(const seek_match *m, double u, double height)
{
    double before = -INFINITY, last = 1;
    for (int i = 0; i < m->weight_count; i++) {
        const double place = place_in_mm(&m->weight_place[i], height), weight = m->weight[i];
        if (u < place) {
            if (i == 0) return weight;
            return last + (weight - last) * (u - before) / (place - before);
        }
        before = place;
        last = weight;
    }
    return last;
}

sp_measure sp_seek_match_take(const sp_target *target, const sp_figure *figure,
                              const sp_curve *curve)
{
    const seek_match *m = &target->match;
    const sp_curve wanted = sp_measured_view(&m->curve);
    double from, to, weights = 0, mean = 0, force = 0, square = 0;
    sp_seek_match_range(target, curve->height, &from, &to);
    const double length = (to - from) / STRETCHES;
    for (int k = 0; k < STRETCHES; k++) {
        const double a = from + k * length, b = k + 1 < STRETCHES ? a + length : to;
        const double weight = weight_at(m, 0.5 * (a + b), curve->height);
        const double got = sp_curve_mean_force(curve, a, b),
                     want = sp_curve_mean_force(&wanted, a, b);
        weights += weight;
        mean += weight * want;
        force += weight * got;
        square += weight * (got - want) * (got - want);
    }
    if (!(mean > 0 && weights > 0 && isfinite(square))) return sp_not_reached();
    if (figure->row == &rows[0]) return sp_reached(sqrt(square * weights) / mean);
    return sp_reached(force / mean);
}

/* ---- reading ----------------------------------------------- */

static int read_place(const char *text, seek_place *place)
{
    place->of_strain = strchr(text, '%') != NULL;
    return sp_case_unit_parse(place->of_strain ? "-" : "mm", text, &place->value) &&
           place->value >= 0;
}

static sp_status read_end(plan_reader *r, const yaml_node_t *node, const char *key,
                          seek_place *place)
{
    if (!node || (node->type == YAML_SCALAR_NODE && read_place(sp_plan_text(node), place)))
        return SP_OK;
    return sp_plan_refuse(r, node, key, sp_plan_text(node), "a shortening in mm, or a strain in %",
                          NULL);
}

/* Places must be in order and in one kind of unit. */
static sp_status read_weights(plan_reader *r, const yaml_node_t *node, seek_match *m)
{
    static const char valid[] = "`place: weight` pairs in order, like {5 %: 1, 30 %: 3}";
    if (!node) return SP_OK;
    if (node->type != YAML_MAPPING_NODE)
        return sp_plan_refuse(r, node, "weight", sp_plan_text(node), valid, NULL);
    for (yaml_node_pair_t *p = node->data.mapping.pairs.start; p < node->data.mapping.pairs.top;
         p++) {
        const yaml_node_t *key = sp_plan_node(r, p->key), *value = sp_plan_node(r, p->value);
        const int n = m->weight_count;
        if (n == SEEK_WEIGHT_MAX)
            return sp_plan_refuse(r, key, "weight", "a longer list", "at most 16 pairs", NULL);
        if (!read_place(sp_plan_text(key), &m->weight_place[n]) ||
            (n && (m->weight_place[n].of_strain != m->weight_place[n - 1].of_strain ||
                   !(m->weight_place[n].value > m->weight_place[n - 1].value))))
            return sp_plan_refuse(r, key, "weight", sp_plan_text(key), valid, NULL);
        if (!sp_case_unit_parse("-", sp_plan_text(value), &m->weight[n]) ||
            !(m->weight[n] >= 0 && m->weight[n] <= 1e6))
            return sp_plan_refuse(r, value, "weight", sp_plan_text(value), "0 to 1e6", NULL);
        m->weight_count++;
    }
    return SP_OK;
}

/* The range must lie on the curve, for the height of the base case. */
static sp_status check_range(plan_reader *r, const yaml_node_t *node, const sp_target *target)
{
    char received[120];
    double from, to;
    const sp_curve wanted = sp_measured_view(&target->match.curve);
    const double end = sp_curve_end(&wanted), mean_least = 0;
    sp_seek_match_range(target, r->plan->base.height, &from, &to);
    snprintf(received, sizeof received, "%.4g to %.4g mm of a curve of %.4g mm", from, to, end);
    if (!(from < to && to <= end * (1 + 1e-9)))
        return sp_plan_refuse(r, node, "match", received, "`from` below `to`, both on the curve",
                              NULL);
    if (!(sp_curve_mean_force(&wanted, from, fmin(to, end)) > mean_least))
        return sp_plan_refuse(r, node, "match", received, "a range with a mean force above 0",
                              NULL);
    return SP_OK;
}

static void add_condition(sp_target *target, int row, double low, double high)
{
    seek_condition *c = &target->condition[target->condition_count++];
    *c = (seek_condition){.figure = target->figure_count, .low = low, .high = high};
    sp_seek_match_find(target, rows[row].name, &target->figure[target->figure_count++]);
}

sp_status sp_seek_match_read(plan_reader *r, const yaml_node_t *node)
{
    enum { CURVE, FROM, TO, WEIGHT, MISFIT, KEYS };
    static const char *const name[KEYS] = {"curve", "from", "to", "weight", "misfit"};
    static const char valid[] = "`curve: FILE`, and `from`, `to`, `weight`, `misfit` when wanted";
    const yaml_node_t *found[KEYS] = {NULL};
    sp_target *target = r->user;
    seek_match *m = &target->match;
    sp_rig_request request;
    char file[SP_FILE_SIZE];
    double misfit = usual_misfit;
    sp_status status = sp_plan_read_mapping(r, node, "match", name, KEYS, valid, found);
    if (status == SP_OK && !found[CURVE])
        status = sp_plan_refuse(r, node, "match", "a match without a curve", valid, NULL);
    sp_rig_request_default(&request);
    request.height = r->plan->base.height;
    request.area = r->plan->base.width * r->plan->base.depth;
    if (status == SP_OK) status = sp_measured_node(r, found[CURVE], &request, file);
    if (status == SP_OK) status = sp_measured_read(r->context, file, &request, &m->curve);
    if (status != SP_OK) return status;
    const sp_curve wanted = sp_measured_view(&m->curve);
    m->to =
        (seek_place){fmin(sp_curve_end(&wanted), r->plan->base.height * r->plan->base.strain), 0};
    status = read_end(r, found[FROM], "from", &m->from);
    if (status == SP_OK) status = read_end(r, found[TO], "to", &m->to);
    if (status == SP_OK) status = read_weights(r, found[WEIGHT], m);
    if (status == SP_OK && found[MISFIT] &&
        (!sp_case_unit_parse("-", sp_plan_text(found[MISFIT]), &misfit) ||
         !(misfit > 0 && misfit <= 10)))
        status = sp_plan_refuse(r, found[MISFIT], "misfit", sp_plan_text(found[MISFIT]),
                                "a share of the mean force, like 15 %", NULL);
    if (status == SP_OK) status = check_range(r, node, target);
    if (status != SP_OK) return status;
    add_condition(target, 0, -INFINITY, misfit);
    add_condition(target, 1, force_least, force_most);
    return SP_OK;
}
