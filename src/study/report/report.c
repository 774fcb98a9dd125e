/* Make the page of a store or of case files. */
#include "report/report_parts.h"

#include <string.h>

#include "base/alloc.h"

/* ---- what both kinds of report share ----------------------------------------------------- */

static void end_report(report *r)
{
    for (int i = 0; i < r->shown_count; i++) sp_result_clear(&r->shown[i].result);
    for (int i = 0; i < r->row_count; i++) sp_free(r->row[i].text);
    sp_free(r->shown);
    sp_free(r->row);
    sp_compare_free(r->compare);
}

static sp_status make_room(report *r, int count)
{
    r->shown = sp_alloc((size_t)count, sizeof *r->shown);
    if (!r->shown) return sp_fail(r->context, SP_NO_MEMORY, "no memory for %d coupons", count);
    r->shown_count = count;
    return SP_OK;
}

/* The cautions of a press stand in the row of its coupon; without a row (in a long table) they are
 * only printed as lines. */
static void give_notes(report *r, const shown *one)
{
    const int place = sp_report_row_of(r, one->group);
    if (place >= 0) sp_notes_add(&r->row[place].notes, one->notes.text);
}

static int state_limit(const report *r, int usual)
{
    if (r->options->show_count) usual = SP_REPORT_STATES_MAX;
    const int asked = r->options->states < 0 ? usual : r->options->states;
    return asked < SP_REPORT_STATES_MAX ? asked : SP_REPORT_STATES_MAX;
}

static sp_status write_page(report *r, const char *file, sp_report_summary *summary)
{
    sp_status status;
    json_t *data = sp_report_data(r, &status);
    if (status == SP_OK) status = sp_report_write(r, data, file, &summary->size);
    json_decref(data);
    summary->rows = r->row_count;
    for (int i = 0; i < r->row_count; i++) summary->curves += r->row[i].typical != NULL;
    if (summary->curves > CURVE_MAX) summary->curves = CURVE_MAX;
    for (int i = 0; i < r->shown_count; i++) summary->shown += r->shown[i].group >= 0;
    return status;
}

/* ---- a store --------------------------------------------------------------------------------- */

/* Turn the chosen coupons into cases again, to be pressed. A coupon whose case cannot be restored
 * keeps its row and its curve, and a note says why it has no states. */
static sp_status plan_shown(report *r, const int *chosen, int count)
{
    sp_status status = make_room(r, count);
    if (status != SP_OK) return status;
    r->shown_count = 0;
    for (int i = 0; i < count; i++) {
        const int place = sp_report_row_of(r, chosen[i]);
        const char *label = r->compare->group[chosen[i]].label;
        shown *one = &r->shown[r->shown_count];
        if (place < 0) {
            sp_warn(r->context,
                    "%s: its states are not drawn, because the table ends before its row", label);
            continue;
        }
        row *from = &r->row[place];
        if (!sp_report_case_of(from->text, from->key, &one->request)) {
            static const char why[] =
                "its states cannot be drawn: the store holds neither the files it names nor the "
                "shapes of a coupon, and only the version that pressed it would give the same ones";
            sp_notes_add(&from->notes, why);
            sp_warn(r->context, "%s: %s", label, why);
            continue;
        }
        /* Ask for the mode as well: the search presses a coupon of its own and leaves this curve as
         * it is. */
        if (one->request.flaw_seed) one->request.find_critical = 1;
        one->group = chosen[i];
        one->id = from->typical->id;
        r->shown_count++;
    }
    return SP_OK;
}

static sp_status check_shown(report *r)
{
    sp_status status = SP_OK;
    for (int i = 0; i < r->shown_count && status == SP_OK; i++) {
        shown *one = &r->shown[i];
        if (one->result.path.step_count) {
            status = sp_report_check_curve(r, one);
        } else {
            sp_notes_add(&one->notes, one->reason);
            sp_warn(r->context, "%s: its states cannot be drawn: %s",
                    r->compare->group[one->group].label, one->reason);
        }
        give_notes(r, one);
        if (!one->result.path.step_count) one->group = -1;
    }
    return status;
}

sp_status sp_report_store(sp_context *context, sp_store *store, const sp_report_options *options,
                          const char *file, sp_report_summary *summary)
{
    sp_context quiet = {0};
    if (!context) context = &quiet;
    report r = {.context = context, .options = options, .store = store, .source = "store"};
    int chosen[SP_REPORT_STATES_MAX], count = 0;
    memset(summary, 0, sizeof *summary);
    sp_status status = sp_compare_read(context, store, &options->compare, &r.compare);
    if (status == SP_OK) status = sp_report_read_rows(&r);
    if (status == SP_OK)
        status = sp_report_choose(&r, state_limit(&r, USUAL_STATES), chosen, &count);
    if (status == SP_OK) status = plan_shown(&r, chosen, count);
    if (status == SP_OK) status = sp_report_press(&r, 0);
    if (status == SP_OK) status = check_shown(&r);
    if (status == SP_OK) status = write_page(&r, file, summary);
    end_report(&r);
    return status;
}

/* ---- case files ------------------------------------------------------------------------------ */

/* Put what was pressed into a store in memory, so that the page of case files is made in the same
 * way as that of a store. */
static sp_status store_shown(report *r)
{
    sp_status status = SP_OK;
    for (int i = 0; i < r->shown_count && status == SP_OK; i++) {
        shown *one = &r->shown[i];
        sp_coupon_key known;
        status = sp_coupon_key_of_case(r->context, &one->request, &known);
        memcpy(one->key, known.key, sizeof one->key);
        if (status == SP_OK)
            status =
                sp_store_put(r->context, r->store, &known, one->outcome, one->reason,
                             one->notes.text, one->result.path.step_count ? &one->result : NULL);
    }
    return status;
}

static sp_status find_id(void *user, const sp_stored *stored)
{
    report *r = user;
    for (int i = 0; i < r->shown_count; i++)
        if (!strcmp(r->shown[i].key, stored->key)) r->shown[i].id = stored->id;
    return SP_OK;
}

static void find_groups(report *r)
{
    const sp_compare *c = r->compare;
    for (int i = 0; i < r->shown_count; i++)
        for (int k = 0; k < c->coupon_count; k++)
            if (c->coupon[k].id == r->shown[i].id) r->shown[i].group = c->coupon[k].group;
}

/* Check the options before anything is pressed. */
static sp_status check_options(report *r)
{
    sp_compare *nothing = NULL;
    const sp_status status = sp_compare_read(r->context, r->store, &r->options->compare, &nothing);
    sp_compare_free(nothing);
    return status == SP_NO_READ ? SP_OK : status; /* the file is new and empty */
}

static int name_length(const char *name)
{
    const char *dot = strrchr(name, '.');
    return (int)(dot && dot > name ? dot - name : (long)strlen(name));
}

static const char *base_name(const char *source)
{
    const char *slash = strrchr(source, '/');
    return slash ? slash + 1 : source;
}

/* The label of a coupon is the name of its case file, with the folders where another coupon has the
 * same name. */
static const char *name_of(const report *r, const shown *one)
{
    const char *name = base_name(one->request.source);
    for (int i = 0; i < r->shown_count; i++)
        if (r->shown[i].group != one->group && !strcmp(base_name(r->shown[i].request.source), name))
            return one->request.source;
    return name;
}

/* Label the groups of case files by the names of the files, which say more than a list of
 * differences. */
static void name_groups(report *r)
{
    sp_compare *c = r->compare;
    for (int i = r->shown_count - 1; i >= 0; i--) { /* the first of equal coupons gives the name */
        const shown *one = &r->shown[i];
        const char *name = name_of(r, one);
        group *g = &c->group[one->group];
        series *s = &c->series[g->series];
        if (!name[0]) continue;
        snprintf(g->label, sizeof g->label, "%.*s", name_length(name), name);
        if (s->count == 1) snprintf(s->label, sizeof s->label, "%s", g->label);
    }
}

/* Draw the chosen groups, each by the coupon whose curve stands in the table. */
static sp_status leave_out(report *r)
{
    const sp_compare *c = r->compare;
    int chosen[SP_REPORT_STATES_MAX], count;
    sp_status status = sp_report_choose(r, state_limit(r, SP_REPORT_STATES_MAX), chosen, &count);
    for (int i = 0; i < r->shown_count && status == SP_OK; i++) {
        int wanted = 0;
        for (int k = 0; k < count; k++) {
            if (chosen[k] != r->shown[i].group) continue;
            wanted = sp_compare_typical(c, &c->group[chosen[k]])->id == r->shown[i].id;
            if (wanted) chosen[k] = -1; /* a case that was given twice is drawn once */
        }
        if (!wanted) r->shown[i].group = -1;
    }
    return status;
}

/* Presses of one case stand side by side in `shown`: as many flaw seeds as `press` takes of it.
 * share_critical gives the critical step that the first of them finds to the others. */
static void plan_seeds(const sp_case *request, int seeds, shown *one)
{
    for (int k = 0; k < seeds; k++) {
        one[k].request = *request;
        one[k].seed = k;
        sp_seeds_request(&one[k].request, k);
    }
}

static sp_status plan_cases(report *r, int count, const sp_case *request)
{
    int *seeds = sp_alloc((size_t)count, sizeof *seeds), sum = 0;
    sp_status status =
        seeds ? SP_OK : sp_fail(r->context, SP_NO_MEMORY, "no memory for %d cases", count);
    for (int i = 0; i < count && status == SP_OK; i++) {
        sp_resolved resolved;
        status = sp_case_resolve(r->context, &request[i], &resolved);
        if (status == SP_OK) seeds[i] = sp_seeds_wanted(&resolved, r->options->seeds);
        if (status == SP_OK) sum += seeds[i];
        sp_resolved_free(&resolved);
    }
    if (status == SP_OK) status = make_room(r, sum);
    for (int i = 0, first = 0; i < count && status == SP_OK; first += seeds[i++])
        plan_seeds(&request[i], seeds[i], &r->shown[first]);
    sp_free(seeds);
    return status;
}

static sp_status share_critical(report *r)
{
    sp_status status = SP_OK;
    for (int i = 1, first = 0; i < r->shown_count && status == SP_OK; i++) {
        shown *one = &r->shown[i];
        if (one->seed == 0) first = i;
        if (one->seed == 0) continue;
        one->request.find_critical = r->shown[first].request.find_critical;
        status = sp_result_share_critical(r->context, &r->shown[first].result, &one->result);
    }
    return status;
}

/* The picture of a seed that is drawn has the mode of the coupon without flaws, which the first
 * press of its case found. */
static void share_mode(report *r)
{
    for (int i = 0, first = 0; i < r->shown_count; i++) {
        shown *one = &r->shown[i];
        if (one->seed == 0) first = i;
        if (one->seed == 0 || one->group < 0 || r->shown[first].group >= 0) continue;
        sp_result_move_perfect(&r->shown[first].result, &one->result);
    }
}

static void count_ended(const report *r, sp_report_summary *summary)
{
    for (int i = 0; i < r->shown_count; i++) {
        if (r->shown[i].outcome != SP_GAVE_UP) continue;
        if (!summary->ended++)
            snprintf(summary->reason, sizeof summary->reason, "%s", r->shown[i].reason);
    }
}

sp_status sp_report_cases(sp_context *context, int count, const sp_case *request,
                          const sp_report_options *options, const char *file,
                          sp_report_summary *summary)
{
    sp_context quiet = {0};
    if (!context) context = &quiet;
    report r = {.context = context, .options = options, .source = "case files"};
    memset(summary, 0, sizeof *summary);
    if (options->seeds < 0 || options->seeds > SP_SEEDS_MAX)
        return sp_fail(context, SP_BAD_USAGE,
                       "received %d flaw seeds; valid: 1 .. %d, or 0: as the case says",
                       options->seeds, SP_SEEDS_MAX);
    sp_status status = plan_cases(&r, count, request);
    if (status == SP_OK) status = sp_store_open(context, "", SP_STORE_MEMORY, &r.store);
    if (status == SP_OK) status = check_options(&r);
    if (status == SP_OK) status = sp_report_press(&r, 1);
    if (status == SP_OK) status = share_critical(&r);
    if (status == SP_OK) count_ended(&r, summary);
    if (status == SP_OK) status = store_shown(&r);
    if (status == SP_OK) status = sp_compare_read(context, r.store, &options->compare, &r.compare);
    if (status == SP_OK) status = sp_store_each(context, r.store, find_id, &r);
    if (status == SP_OK) {
        find_groups(&r);
        name_groups(&r);
        status = sp_report_read_rows(&r);
    }
    if (status == SP_OK) status = leave_out(&r);
    if (status == SP_OK) share_mode(&r);
    if (status == SP_OK) status = write_page(&r, file, summary);
    end_report(&r);
    sp_store_close(r.store);
    return status;
}
