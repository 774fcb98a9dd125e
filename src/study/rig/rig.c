/* Read a file of a rig and make its curves, one stage after another. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "case/case_parts.h"
#include "rig/rig_parts.h"

static const double shortening_max = 10000; /* mm, as the height of a coupon */

void sp_rig_request_default(sp_rig_request *request)
{
    *request = (sp_rig_request){0};
}

/* ---- what the user says ----------------------------------------------- */

static int set_count(const char *text, int *count)
{
    char *end;
    const long value = strtol(text, &end, 10);
    if (end == text || *end || value < 1 || value > 100000) return 0;
    *count = (int)value;
    return 1;
}

static int set_zero(const char *text, sp_rig_zero *zero)
{
    static const char *const word[] = {"auto", "file", "contact", "toe"};
    for (int i = 0; i < 4; i++)
        if (!strcmp(text, word[i])) {
            *zero = (sp_rig_zero)i;
            return 1;
        }
    return 0;
}

static int set_positive(const char *unit, const char *text, double most, double *value)
{
    double read;
    if (!sp_case_unit_parse(unit, text, &read) || !(read > 0 && read <= most)) return 0;
    *value = read;
    return 1;
}

static int set_text(const char *text, char *copy, size_t size)
{
    if (!text[0] || strlen(text) >= size) return 0;
    memcpy(copy, text, strlen(text) + 1);
    return 1;
}

int sp_rig_request_set(sp_rig_request *request, const char *key, const char *text, char *valid,
                       size_t size)
{
    sp_rig_request *q = request;
    static const struct {
        const char *key, *valid;
    } row[] = {
        {"specimen", "a whole number from 1 up"},
        {"cycle", "a whole number from 1 up"},
        {"zero", "auto, file, contact or toe"},
        {"preload", "a force above 0 N"},
        {"starts_at", "a shortening of the file in mm"},
        {"machine_stiffness", "N per mm above 0, of the machine without a coupon"},
        {"machine_curve", "the name of a file of platen on platen"},
        {"travel", "the name or the number of a column"},
        {"force", "the name or the number of a column"},
        {"height", "mm above 0"},
        {"area", "mm2 above 0"},
    };
    const int count = sizeof row / sizeof *row;
    int i = 0, taken = 0;
    while (i < count && strcmp(key, row[i].key)) i++;
    switch (i) {
    case 0:
        taken = set_count(text, &q->specimen);
        break;
    case 1:
        taken = set_count(text, &q->cycle);
        break;
    case 2:
        taken = set_zero(text, &q->zero);
        break;
    case 3:
        taken = set_positive("N", text, 1e9, &q->preload);
        if (taken) q->zero = SP_ZERO_PRELOAD;
        break;
    case 4:
        taken =
            sp_case_unit_parse("mm", text, &q->starts_at) && fabs(q->starts_at) <= shortening_max;
        if (taken) q->zero = SP_ZERO_AT;
        break;
    case 5:
        taken = set_positive("N/mm", text, 1e12, &q->machine_stiffness);
        break;
    case 6:
        taken = set_text(text, q->machine_curve, sizeof q->machine_curve);
        break;
    case 7:
        taken = set_text(text, q->travel, sizeof q->travel);
        break;
    case 8:
        taken = set_text(text, q->force, sizeof q->force);
        break;
    case 9:
        taken = set_positive("mm", text, shortening_max, &q->height);
        break;
    case 10:
        taken = set_positive("mm2", text, 1e9, &q->area);
        break;
    default:
        break;
    }
    snprintf(valid, size, "%s",
             i < count
                 ? row[i].valid
                 : "specimen, cycle, zero, preload, starts_at, machine_stiffness, machine_curve, "
                   "travel, force, height, area");
    return taken;
}

/* ---- the straight line ----------------------------------------------- */

/* With the size of the specimen known, strain and stress become shortening and force. */
static void take_size(sp_rig *rig)
{
    const double height = rig->is_strain && rig->request.height > 0 ? rig->request.height : 1;
    const double area = rig->is_stress && rig->request.area > 0 ? rig->request.area : 1;
    for (int i = 0; i < rig->specimen_count; i++)
        for (int k = 0; k < rig->specimen[i].raw.count; k++) {
            rig->specimen[i].raw.u[k] *= height;
            rig->specimen[i].raw.f[k] *= area;
        }
    if (rig->request.height > 0) rig->is_strain = 0;
    if (rig->request.area > 0) rig->is_stress = 0;
}

static sp_status check_sizes(sp_context *context, const sp_rig *rig, const rig_specimen *s)
{
    for (int i = 0; i < s->raw.count; i++)
        if (!(fabs(s->raw.u[i]) <= 1e3 * shortening_max && fabs(s->raw.f[i]) <= 1e15))
            return sp_fail(context, SP_NO_READ,
                           "%s: %s: received %g %s with %g %s; valid: shortenings up to %g mm",
                           rig->file, s->name, s->raw.u[i], sp_rig_travel_unit(rig), s->raw.f[i],
                           sp_rig_force_unit(rig), shortening_max);
    return SP_OK;
}

static sp_status check_end(sp_context *context, const sp_rig *rig, const rig_specimen *s)
{
    const double end = s->curve.u[s->curve.count - 1];
    if (end <= shortening_max) return SP_OK;
    return sp_fail(
        context, SP_NO_READ,
        "%s: %s: received a shortening of %g %s; valid: at most %g mm (is the unit right?)",
        rig->file, s->name, end, sp_rig_travel_unit(rig), shortening_max);
}

/* Read the curve of platen on platen with the same reader, from its own contact on, as shortening
 * over a force that grows. */
static sp_status read_machine(sp_context *context, sp_rig *rig)
{
    sp_rig_request request;
    sp_rig *other = NULL;
    sp_rig_request_default(&request);
    sp_status status = sp_rig_read(context, rig->request.machine_curve, &request, &other);
    if (status != SP_OK) return status;
    const rig_rows *c = &other->specimen[0].curve;
    status = sp_rig_rows_make(context, other->file, c->count, &rig->machine);
    int kept = 0;
    for (int i = 0; i < c->count && status == SP_OK; i++)
        if (!kept || c->f[i] > rig->machine.f[kept - 1]) {
            rig->machine.u[kept] = c->u[i];
            rig->machine.f[kept++] = c->f[i];
        }
    rig->machine.count = kept;
    if (status == SP_OK && (kept < 2 || other->is_strain || other->is_stress))
        status = sp_fail(
            context, SP_NO_READ,
            "%s: received no force in N that grows with a shortening in mm; valid: a curve of "
            "platen on platen",
            other->file);
    sp_rig_free(other);
    return status;
}

static sp_status take_curves(sp_context *context, const sp_columns *columns, sp_rig *rig)
{
    rig->encoding = columns->encoding;
    rig->delimiter = columns->delimiter;
    rig->decimal = columns->decimal;
    rig->line_count = columns->line_count;
    rig->row_count = columns->row_count;
    rig->grouped = columns->grouped;
    rig->missing = columns->missing;
    sp_status status = sp_rig_gather(context, columns, rig);
    if (status == SP_OK) take_size(rig);
    if (status == SP_OK && rig->request.machine_curve[0]) status = read_machine(context, rig);
    for (int i = 0; i < rig->specimen_count && status == SP_OK; i++) {
        rig_specimen *s = &rig->specimen[i];
        status = check_sizes(context, rig, s);
        if (status == SP_OK) status = sp_rig_clean(context, rig, s);
        if (status == SP_OK) status = sp_rig_take_loading(context, rig, s);
        if (status == SP_OK) status = sp_rig_put_zero(context, rig, s);
        if (status == SP_OK) status = check_end(context, rig, s);
    }
    return status;
}

static sp_status make_rig(sp_context *context, const char *name, const sp_rig_request *request,
                          sp_rig **rig)
{
    *rig = sp_alloc(1, sizeof **rig);
    if (!*rig) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", name);
    snprintf((*rig)->file, sizeof(*rig)->file, "%s", name);
    if (request) (*rig)->request = *request;
    return SP_OK;
}

static sp_status end_rig(sp_status status, sp_columns *columns, sp_rig **rig)
{
    sp_columns_free(columns);
    if (status == SP_OK) return status;
    sp_rig_free(*rig);
    *rig = NULL;
    return status;
}

sp_status sp_rig_parse(sp_context *context, const char *name, const char *bytes, size_t size,
                       const sp_rig_request *request, sp_rig **rig)
{
    sp_columns columns = {0};
    sp_status status = make_rig(context, name, request, rig);
    if (status == SP_OK) status = sp_columns_parse(context, name, bytes, size, &columns);
    if (status == SP_OK) status = take_curves(context, &columns, *rig);
    return end_rig(status, &columns, rig);
}

sp_status sp_rig_read(sp_context *context, const char *file, const sp_rig_request *request,
                      sp_rig **rig)
{
    sp_columns columns = {0};
    sp_status status = make_rig(context, file, request, rig);
    if (status == SP_OK) status = sp_columns_read(context, file, &columns);
    if (status == SP_OK) status = take_curves(context, &columns, *rig);
    return end_rig(status, &columns, rig);
}

void sp_rig_free(sp_rig *rig)
{
    if (!rig) return;
    for (int i = 0; i < RIG_SPECIMEN_MAX && rig->specimen; i++) {
        sp_rig_rows_free(&rig->specimen[i].raw);
        sp_rig_rows_free(&rig->specimen[i].curve);
        sp_free(rig->specimen[i].all);
    }
    sp_free(rig->specimen);
    sp_rig_rows_free(&rig->machine);
    sp_free(rig);
}

int sp_rig_count(const sp_rig *rig)
{
    return rig->specimen_count;
}

const char *sp_rig_name(const sp_rig *rig, int specimen)
{
    return rig->specimen[specimen].name;
}

sp_curve sp_rig_curve(const sp_rig *rig, int specimen)
{
    const rig_rows *rows = &rig->specimen[specimen].curve;
    return (sp_curve){.height = rig->request.height,
                      .area = rig->request.area,
                      .count = rows->count,
                      .stride = sizeof *rows->f,
                      .shortening = rows->u,
                      .force = rows->f};
}

const char *sp_rig_travel_unit(const sp_rig *rig)
{
    return rig->is_strain ? "(strain)" : "mm";
}

const char *sp_rig_force_unit(const sp_rig *rig)
{
    return rig->is_stress ? "MPa" : "N";
}
