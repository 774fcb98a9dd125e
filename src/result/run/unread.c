/* Warn of keys that a case gives and does not read. Such a key is worth a line, not a refusal,
 * because cases are copied and their pattern or law is changed. The column `readers` of
 * case/case_rows.h says who reads a key. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <strutpress/protocol.h>

#include "case/case_parts.h"
#include "drawing/drawing.h"
#include "law/law.h"
#include "pattern/cell.h"
#include "pattern/pattern.h"
#include "run/resolve_parts.h"

typedef struct word {
    const char *text;
    size_t length;
} word;

static int is_word(word w, const char *text)
{
    return strlen(text) == w.length && !strncmp(text, w.text, w.length);
}

/* ---- what a case is ----------------------------------------------- */

static int is_drawn(const char *pattern)
{
    return !strcmp(pattern, "drawn") || !strcmp(pattern, SP_PRINTED_NAME);
}

static int presses_solid(const sp_resolved *r)
{
    return r->built == SP_BUILT_SOLID;
}

static int presses_struts(const sp_resolved *r)
{
    return !presses_solid(r);
}

static int presses_bars(const sp_resolved *r)
{
    return presses_struts(r) && !sp_built_is_flat(r->built);
}

static int has_rates(const sp_resolved *r)
{
    return r->request.table_rates.count > 0;
}

static int has_thickening(const sp_resolved *r)
{
    return fabs(r->request.thickening - 1) > 0;
}

static int presses_spatial(const sp_resolved *r)
{
    return presses_struts(r) && sp_cell_find(r->request.pattern);
}

static int presses_planar(const sp_resolved *r)
{
    const sp_case *c = &r->request;
    const int other = c->layers && c->layer_pattern[0] && !is_drawn(c->layer_pattern);
    return presses_struts(r) && !presses_spatial(r) && (!is_drawn(c->pattern) || other);
}

static int presses_drawn(const sp_resolved *r)
{
    return r->drawing && !r->drawing->is_spatial &&
           strcmp(r->request.pattern, SP_PRINTED_NAME) != 0;
}

static int presses_drawn_in_space(const sp_resolved *r)
{
    return r->drawing && r->drawing->is_spatial;
}

static int is_spatial(const sp_resolved *r)
{
    return r->dimension == 3;
}

static int presses_along(const sp_resolved *r)
{
    return r->built == SP_BUILT_PANELS;
}

static int presses_across(const sp_resolved *r)
{
    return !sp_built_is_flat(r->built);
}

static int has_layers(const sp_resolved *r)
{
    return r->request.layers > 0;
}

static int has_flaws(const sp_resolved *r)
{
    return r->request.flaw_seed != 0;
}

static int holds_by_friction(const sp_resolved *r)
{
    return r->request.platens == SP_PLATENS_FRICTION;
}

/* The laws of Mooney and Rivlin and of Yeoh read c10 in place of the modulus. */
static int has_no_c10(const sp_resolved *r)
{
    const int may = !strcmp(r->request.law, "mooney-rivlin") || !strcmp(r->request.law, "yeoh");
    return !may || isnan(r->request.c10);
}

static int takes_time(const sp_resolved *r)
{
    return sp_protocol_takes_time(&r->request);
}

static int softens(const sp_resolved *r)
{
    return r->request.softening_ratio > 0;
}

static int has_set(const sp_resolved *r)
{
    return r->request.relaxation_set > 0;
}

static int has_shares(const sp_resolved *r)
{
    return r->request.relaxation_shares.count > 0;
}

static int has_exponent(const sp_resolved *r)
{
    return r->request.relaxation_exponent > 0 || has_set(r);
}

static int flows(const sp_resolved *r)
{
    return r->request.flow_share > 0;
}

static int flows_twice(const sp_resolved *r)
{
    return r->request.second_flow_share > 0;
}

static int relaxes(const sp_resolved *r)
{
    return has_exponent(r) || has_shares(r) || flows(r) || flows_twice(r);
}

static const struct {
    const char *name;
    int (*holds)(const sp_resolved *resolved);
    const char *why; /* why the word does not hold; NULL: say what the pattern is */
} properties[] = {
    {"planar", presses_planar, NULL},
    {"spatial", presses_spatial, NULL},
    {"drawn", presses_drawn, NULL},
    {"drawn-in-space", presses_drawn_in_space, NULL},
    {"solid", presses_solid, NULL},
    {"struts", presses_struts, NULL},
    {"bars", presses_bars, NULL},
    {"rates", has_rates, "material.table_rates is not given"},
    {"thickening", has_thickening, "joint.thickening is 1"},
    {"in-space", is_spatial, NULL},
    {"along", presses_along, "press.direction is not along"},
    {"across", presses_across,
     "press.direction is not across, and walls or beads turn about what they meet in"},
    {"layers", has_layers, "infill.layers is 0"},
    {"flaws", has_flaws, "flaws.seed is 0"},
    {"friction-hold", holds_by_friction, NULL},
    {"time", takes_time, "the press takes no time"},
    {"softening", softens, "material.softening.ratio is not given"},
    {"set", has_set, "material.relaxation.compression_set is not given"},
    {"shares", has_shares, "material.relaxation.shares is not given"},
    {"exponent", has_exponent, "material.relaxation has no exponent and no compression_set"},
    {"flow", flows, "material.flow.share is not given"},
    {"second_flow", flows_twice, "material.second_flow.share is not given"},
    {"relaxation", relaxes, "the material has no relaxation and no flow"},
    {"no-c10", has_no_c10, "material.c10 is given in its place"},
};
enum { PROPERTY_COUNT = sizeof properties / sizeof *properties };

static int find_property(word w)
{
    for (int i = 0; i < PROPERTY_COUNT; i++)
        if (is_word(w, properties[i].name)) return i;
    return -1;
}

/* Compare a pattern with both of its names. */
static int is_pattern(word w, const char *given)
{
    const sp_pattern_row *planar = sp_pattern_find(given);
    const sp_cell_row *cell = sp_cell_find(given);
    if (!strcmp(given, SP_PRINTED_NAME)) return is_word(w, given);
    if (planar) return is_word(w, planar->name) || is_word(w, planar->alias);
    return cell && (is_word(w, cell->name) || is_word(w, cell->alias));
}

static int presses_pattern(const sp_resolved *r, word w)
{
    const sp_case *c = &r->request;
    return presses_struts(r) &&
           (is_pattern(w, c->pattern) || (c->layers && is_pattern(w, c->layer_pattern)));
}

/* ---- the words of a row ----------------------------------------------- */

static const char pattern_head[] = "pattern:", law_head[] = "law:";

/* Return the length of the head when a word begins with it, else 0. */
static size_t begins(word w, const char *head)
{
    const size_t length = strlen(head);
    return w.length > length && !strncmp(w.text, head, length) ? length : 0;
}

static int holds(const sp_resolved *r, word one)
{
    const int property = find_property(one);
    return property >= 0 && properties[property].holds(r);
}

/* Return 1 when one of the alternatives between | holds. */
static int one_holds(const sp_resolved *r, word w)
{
    const size_t of_pattern = begins(w, pattern_head), of_law = begins(w, law_head);
    const char *end = w.text + w.length;
    word one = {w.text + of_pattern + of_law, 0};
    for (; one.text < end; one.text += one.length + 1) {
        one.length = strcspn(one.text, "| ");
        if (of_pattern ? presses_pattern(r, one)
            : of_law   ? is_word(one, r->request.law)
                       : holds(r, one))
            return 1;
    }
    return 0;
}

static const char *what_it_is(const sp_resolved *r)
{
    return presses_solid(r)            ? "full"
           : presses_drawn_in_space(r) ? "a drawing in space"
           : presses_drawn(r)          ? "a drawing"
           : presses_spatial(r)        ? "spatial"
                                       : "planar";
}

static void say_why(const sp_resolved *r, word w, char why[SP_WHY_SIZE])
{
    const sp_law_row *law = sp_law_find(r->request.law);
    const int property = find_property(w);
    if (begins(w, law_head))
        snprintf(why, SP_WHY_SIZE, " by law %s (it reads %s)", r->request.law,
                 law ? law->needs : "nothing");
    else if (begins(w, pattern_head) && presses_struts(r))
        snprintf(why, SP_WHY_SIZE, ": infill.pattern is %s", r->request.pattern);
    else if (property >= 0 && properties[property].holds == presses_bars && presses_struts(r))
        snprintf(why, SP_WHY_SIZE, ": press.direction is not across");
    else if (property >= 0 && properties[property].why)
        snprintf(why, SP_WHY_SIZE, ": %s", properties[property].why);
    else
        snprintf(why, SP_WHY_SIZE, ": infill.pattern %s is %s", r->request.pattern, what_it_is(r));
}

int sp_case_reads(const sp_resolved *resolved, int row, char why[SP_WHY_SIZE])
{
    why[0] = 0;
    for (const char *at = sp_case_row_at(row)->readers; *at;) {
        const word w = {at, strcspn(at, " ")};
        if (!one_holds(resolved, w)) {
            say_why(resolved, w, why);
            return 0;
        }
        at += w.length + (at[w.length] == ' ');
    }
    return 1;
}

void sp_warn_of_unread(sp_context *context, const sp_resolved *resolved)
{
    char why[SP_WHY_SIZE];
    for (int i = 0; i < sp_parameter_count(); i++)
        if (resolved->request.origin[i] == SP_ORIGIN_FILE && !sp_case_reads(resolved, i, why))
            sp_warn(context, "%s is not read%s", sp_case_row_at(i)->key, why);
}
