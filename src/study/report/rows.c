/* Make the rows of the page: one per group of the comparison, with what the store says of the
 * coupon that stands for it. */
#include "report/report_parts.h"

#include <stdlib.h>
#include <string.h>

#include <strutpress/inspect.h>

#include "base/alloc.h"
#include "case/case_parts.h"

void sp_notes_add(notes *kept, const char *line)
{
    if (!line[0] || strstr(kept->text, line)) return;
    const int length = snprintf(kept->text + kept->used, sizeof kept->text - kept->used, "%s%s",
                                kept->used ? "\n" : "", line);
    if (length > 0) kept->used += (size_t)length;
    if (kept->used >= sizeof kept->text) kept->used = sizeof kept->text - 1;
}

void sp_notes_take(void *user, const char *line)
{
    sp_notes_add(user, line);
}

/* ---- from the store -------------------------------------------------------------------------- */

typedef struct row_place {
    long long id; /* of the coupon that stands for the row */
    int row;
} row_place;

typedef struct finder {
    report *report;
    row_place *place; /* of all rows, ordered by id */
} finder;

static int compare_places(const void *left, const void *right)
{
    const row_place *a = left, *b = right;
    return (a->id > b->id) - (a->id < b->id);
}

static sp_status take_stored(void *user, const sp_stored *stored)
{
    finder *f = user;
    const row_place key = {.id = stored->id};
    const row_place *found =
        bsearch(&key, f->place, (size_t)f->report->row_count, sizeof *f->place, compare_places);
    if (!found) return SP_OK;
    row *one = &f->report->row[found->row];
    sp_free(one->text);
    snprintf(one->key, sizeof one->key, "%s", stored->key);
    snprintf(one->program, sizeof one->program, "%s", stored->program);
    snprintf(one->reason, sizeof one->reason, "%s", stored->reason);
    one->seed = stored->flaw_seed;
    one->outcome = stored->outcome;
    sp_notes_add(&one->notes, stored->cautions);
    one->text = sp_copy_text(stored->text);
    return one->text ? SP_OK : sp_fail(f->report->context, SP_NO_MEMORY, "no memory for a coupon");
}

static sp_status find_stored(report *r)
{
    const sp_compare *c = r->compare;
    finder f = {.report = r};
    f.place = sp_alloc((size_t)r->row_count, sizeof *f.place);
    if (!f.place) return sp_fail(r->context, SP_NO_MEMORY, "no memory for the page");
    for (int i = 0; i < r->row_count; i++) {
        const group *g = &c->group[r->row[i].group];
        const coupon *one = r->row[i].typical;
        f.place[i] = (row_place){(one ? one : &c->coupon[g->first])->id, i};
    }
    qsort(f.place, (size_t)r->row_count, sizeof *f.place, compare_places);
    sp_status status = sp_store_each(r->context, r->store, take_stored, &f);
    sp_free(f.place);
    return status;
}

/* ---- without a press ------------------------------------------------------------------------- */

int sp_report_case_of(const char *text, const char *key, sp_case *request)
{
    char name[2 * SP_NAME_SIZE], value[SP_FILE_SIZE];
    sp_context quiet = {0};
    sp_coupon_key known;
    sp_case_default(request);
    for (const char *at = text; *at; at += strcspn(at, "\n"), at += *at == '\n') {
        const int length = (int)strcspn(at, "\n"), word = (int)strcspn(at, " ");
        if (word >= length || length - word >= (int)sizeof value) continue;
        snprintf(name, sizeof name, "%.*s", word, at);
        snprintf(value, sizeof value, "%.*s", length - word - 1, at + word + 1);
        const int index = sp_case_row_find(name);
        if (!strcmp(value, "-")) continue; /* not given */
        if (index < 0 || sp_case_row_at(index)->kind == SP_KIND_FILE) return 0;
        if (!sp_case_row_parse(request, index, value)) return 0;
    }
    /* The stored modulus is used as it is, and must not be derived from the hardness again. */
    request->origin[sp_case_row_find("material.modulus")] = SP_ORIGIN_FILE;
    return sp_coupon_key_of_case(&quiet, request, &known) == SP_OK && !strcmp(known.key, key);
}

/* Add what `check` says of its network; for a case that cannot be built, the store has the reason.
 */
static sp_status inspect(report *r, row *one)
{
    sp_context own = {.warn = sp_notes_take, .user = &one->notes};
    sp_case request;
    sp_resolved resolved;
    sp_network network = {0};
    sp_inspection inspection;
    if (!one->typical || !sp_report_case_of(one->text, one->key, &request)) return SP_OK;
    sp_status status = sp_case_resolve(&own, &request, &resolved);
    if (status == SP_OK) status = sp_resolved_network(&own, &resolved, 1, &network);
    if (status == SP_OK) status = sp_inspect(&own, &resolved.request, &network, &inspection);
    sp_network_free(&network);
    sp_resolved_free(&resolved);
    return status == SP_NO_MEMORY ? sp_fail(r->context, status, "%s", own.message) : SP_OK;
}

int sp_report_row_of(const report *r, int which)
{
    for (int i = 0; i < r->row_count; i++)
        if (r->row[i].group == which) return i;
    return -1;
}

sp_status sp_report_read_rows(report *r)
{
    const sp_compare *c = r->compare;
    int curves = 0;
    const int count = c->group_count < ROW_MAX ? c->group_count : ROW_MAX;
    r->row = sp_alloc((size_t)count, sizeof *r->row);
    if (!r->row) return sp_fail(r->context, SP_NO_MEMORY, "no memory for %d rows", count);
    r->row_count = count;
    for (int i = 0; i < r->row_count; i++) {
        r->row[i].group = c->order[i];
        r->row[i].typical = sp_compare_typical(c, &c->group[c->order[i]]);
    }
    sp_status status = find_stored(r);
    for (int i = 0; i < r->row_count && curves < CURVE_MAX && status == SP_OK; i++) {
        curves += r->row[i].typical != NULL;
        status = inspect(r, &r->row[i]);
    }
    return status;
}
