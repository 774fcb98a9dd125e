/* Describe a press in one or two plain sentences: how it gives way, what it carries from there on,
 * how it ends, and what comes back.
 *
 * There are four parts, each a table of rows; of each part the first row that applies is written.
 */
#include <math.h>
#include <string.h>

#include <strutpress/measure.h>
#include <strutpress/protocol.h>

#include "caution/caution.h"
#include "write/text.h"

enum { PART = 160 };

/* Values that the rows read: forces in N, strains as fractions; NaN where there is none. */
typedef struct facts {
    const sp_result *result;
    double fold, fold_strain; /* where it gives way */
    double low, high, upto;   /* force that is carried from there on, up to this strain */
    double end, end_strain;   /* the last state of the press */
    double set;               /* kept after the way back, share of the height */
    int gives_all_back, is_in_time;
} facts;

static int is_reached(const facts *f, const char *name, double *value)
{
    *value = sp_measure_value(f->result, name);
    return isfinite(*value);
}

/* Find the critical step of the coupon without flaws or the first maximum of the force, whichever
 * comes first: a coupon may fold without carrying less, and its force may fall without another
 * state. */
static void find_fold(facts *f)
{
    const sp_critical *critical = &f->result->path.critical;
    sp_weight weight;
    f->fold = f->fold_strain = NAN;
    if (sp_weight_of(f->result, &weight)) {
        f->fold = weight.force;
        f->fold_strain = weight.strain;
    }
    if (!critical->found || critical->strain > f->end_strain) return;
    if (f->fold_strain <= critical->strain) return;
    f->fold = critical->force;
    f->fold_strain = critical->strain;
}

static void find_plateau(facts *f)
{
    const sp_path *path = &f->result->path;
    const double from = isfinite(f->fold_strain) ? f->fold_strain : 0.1;
    f->low = INFINITY, f->high = -INFINITY;
    if (!is_reached(f, "densification_strain", &f->upto)) f->upto = f->end_strain;
    for (int i = 0; i < path->step_count; i++) {
        const double strain = sp_path_strain(path, i);
        if (strain < from || strain > f->upto) continue;
        f->low = fmin(f->low, path->step[i].force);
        f->high = fmax(f->high, path->step[i].force);
    }
}

static facts facts_of(const sp_result *result)
{
    facts f = {.result = result, .end = NAN, .end_strain = NAN};
    char words[SP_MODELLED_SIZE];
    const sp_path *path = &result->path;
    if (path->step_count > 0) {
        f.end = path->step[path->step_count - 1].force;
        f.end_strain = sp_path_strain(path, path->step_count - 1);
    }
    find_fold(&f);
    find_plateau(&f);
    f.gives_all_back =
        sp_measure_modelled("energy_kept", &result->request, words) == SP_NOT_MODELLED;
    f.is_in_time = sp_protocol_takes_time(&result->request);
    f.set = sp_measure_value(result, "instant_set");
    return f;
}

/* Write a force as "151 N" or "1.2 kN". */
static const char *force(char text[32], double newton)
{
    if (fabs(newton) >= 1000)
        sp_format(text, 32, "%.2g kN", newton / 1000);
    else
        sp_format(text, 32, fabs(newton) < 100 ? "%.2g N" : "%.3g N", newton);
    return text;
}

/* "31 N", or "28 N to 31 N" */
static void say_range(double least, double most, char text[80])
{
    char low[32], high[32];
    force(low, least);
    force(high, most);
    sp_format(text, 80, strcmp(low, high) ? "%s to %s" : "%s", low, high);
}

/* --- how it gives way --- */

static int is_block(const facts *f)
{
    return f->result->path.block != SP_BLOCK_NONE;
}

static int has_fold(const facts *f)
{
    return isfinite(f->fold);
}

static int always(const facts *f)
{
    (void)f;
    return 1;
}

static void say_block(const facts *f, char text[PART])
{
    (void)f;
    sp_format(text, PART, "A solid block: it bulges and never folds");
}

static void say_fold(const facts *f, char text[PART])
{
    char newton[32];
    sp_format(text, PART, "Folds at %s (%.2g %% shortening)", force(newton, f->fold),
              100 * f->fold_strain);
}

static void say_no_fold(const facts *f, char text[PART])
{
    (void)f;
    sp_format(text, PART, "Does not fold at once: its force rises without a maximum");
}

/* --- what the coupon carries after its first fold --- */

/* A plateau that rises by more than this is not called one. */
static const double steep = 4;

static int has_plateau(const facts *f)
{
    return !is_block(f) && f->high > 0 && f->low > 0 && f->high <= steep * f->low &&
           f->upto > 0.15 && f->upto > 1.5 * (has_fold(f) ? f->fold_strain : 0);
}

static void say_plateau(const facts *f, char text[PART])
{
    char range[80];
    say_range(f->low, f->high, range);
    sp_format(text, PART, ", carries %s down to %.2g %%", range, 100 * f->upto);
}

static void say_nothing(const facts *f, char text[PART])
{
    (void)f;
    text[0] = '\0';
}

/* --- how the press ends --- */

static int went_solid(const facts *f)
{
    return !is_block(f) && f->end_strain > 1.02 * f->upto && f->end > 1.2 * f->high;
}

static int met_load_limit(const facts *f)
{
    return f->result->path.stop == SP_STOP_LOAD;
}

static int ended_early(const facts *f)
{
    const sp_stop stop = f->result->path.stop;
    return stop == SP_STOP_RANGE || stop == SP_STOP_GAVE_UP || stop == SP_STOP_INTERRUPTED;
}

/* Write the verb, unless the plateau has said it already. */
static const char *again(const facts *f)
{
    return has_plateau(f) ? "" : " carries";
}

static void say_solid(const facts *f, char text[PART])
{
    char newton[32];
    sp_format(text, PART, ", then goes solid: %s at %.2g %%", force(newton, f->end),
              100 * f->end_strain);
}

static void say_limit(const facts *f, char text[PART])
{
    char newton[32];
    sp_format(text, PART, ", and meets the load limit of %s at %.2g %%",
              force(newton, f->result->request.load_limit), 100 * f->end_strain);
}

static void say_early(const facts *f, char text[PART])
{
    char newton[32];
    sp_format(text, PART, ", and%s %s at %.2g %%, where the press ended early", again(f),
              force(newton, f->end), 100 * f->end_strain);
}

static void say_end(const facts *f, char text[PART])
{
    char newton[32];
    sp_format(text, PART, ", and%s %s at %.2g %%", again(f), force(newton, f->end),
              100 * f->end_strain);
}

/* --- what comes back --- */

static int has_set(const facts *f)
{
    return isfinite(f->set);
}

static void say_time(const facts *f, char text[PART])
{
    double later;
    if (is_reached(f, "set_30_min", &later))
        sp_format(text, PART, "Half an hour after it is let go %.2g %% of the squash is left.",
                  100 * later);
    else
        sp_format(text, PART, "How it comes back is in the figures of time.");
}

static void say_all_back(const facts *f, char text[PART])
{
    (void)f;
    sp_format(text, PART, "It comes back at once, as its law has no losses.");
}

static void say_set(const facts *f, char text[PART])
{
    sp_format(text, PART, "Let go, it keeps %.2g %% of the squash at once.", 100 * f->set);
}

static void say_not_asked(const facts *f, char text[PART])
{
    (void)f;
    sp_format(text, PART, "The way back was not pressed: press.unload: yes shows it.");
}

typedef struct word_row {
    int (*applies)(const facts *f);
    void (*say)(const facts *f, char text[PART]);
} word_row;

enum { ROWS_MAX = 4 };
static const word_row parts[][ROWS_MAX] = {
    {{is_block, say_block}, {has_fold, say_fold}, {always, say_no_fold}},
    {{has_plateau, say_plateau}, {always, say_nothing}},
    {{met_load_limit, say_limit},
     {ended_early, say_early},
     {went_solid, say_solid},
     {always, say_end}},
};

static int is_in_time(const facts *f)
{
    return f->is_in_time;
}

static int comes_back(const facts *f)
{
    return f->gives_all_back;
}

static const word_row back[ROWS_MAX] = {{is_in_time, say_time},
                                        {comes_back, say_all_back},
                                        {has_set, say_set},
                                        {always, say_not_asked}};

static void say_first(const word_row *row, const facts *f, char text[PART])
{
    while (!row->applies(f)) row++;
    row->say(f, text);
}

/* --- how far the seeds of the flaws are apart --- */

/* The forces of all seeds at the last strain that every one of them reaches, and at half of it. */
static void say_seeds(const facts *f, char text[PART])
{
    int count, kept;
    char early[80], late[80];
    const sp_band *band = sp_result_band(f->result, &count);
    text[0] = '\0';
    if (count == 0) return;
    const sp_band *half = &band[count / 2], *end = &band[count - 1];
    say_range(half->low, half->high, early);
    say_range(end->low, end->high, late);
    sp_format(text, PART, " Over %d flaw seeds it carries %s at %.2g %% and %s at %.2g %%.",
              sp_result_seeds(f->result, &kept), early, 100 * half->strain, late,
              100 * end->strain);
}

void sp_words(const sp_result *result, char *text, size_t size)
{
    const facts f = facts_of(result);
    char part[PART];
    text[0] = '\0';
    if (!isfinite(f.end)) return; /* there is no curve */
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        say_first(parts[i], &f, part);
        const size_t used = strlen(text);
        sp_format(text + used, size - used, "%s", part);
    }
    say_first(back, &f, part);
    size_t used = strlen(text);
    sp_format(text + used, size - used, ". %s", part);
    say_seeds(&f, part);
    used = strlen(text);
    sp_format(text + used, size - used, "%s", part);
}
