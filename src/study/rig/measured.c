#include "rig/measured.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "measure/curve.h"
#include "rig/rig_parts.h"

void sp_measured_free(sp_measured *measured)
{
    sp_free(measured->shortening);
    sp_free(measured->force);
    sp_rig_free(measured->rig);
    *measured = (sp_measured){0};
}

sp_status sp_measured_draw(sp_context *context, const sp_measured *measured, FILE *stream)
{
    return sp_rig_draw(context, measured->rig, stream);
}

sp_curve sp_measured_view(const sp_measured *measured)
{
    return (sp_curve){.height = measured->rig->request.height,
                      .area = measured->rig->request.area,
                      .count = measured->count,
                      .stride = sizeof *measured->force,
                      .shortening = measured->shortening,
                      .force = measured->force};
}

/* Take the mean of all specimens up to the end of the shortest, at the places of the first. */
static void take_mean(sp_measured *m)
{
    const int specimens = sp_rig_count(m->rig);
    const sp_curve first = sp_rig_curve(m->rig, 0);
    double end = INFINITY, mean = 0, square = 0;
    m->count = first.count;
    memcpy(m->shortening, first.shortening, (size_t)first.count * sizeof *m->shortening);
    memcpy(m->force, first.force, (size_t)first.count * sizeof *m->force);
    if (specimens == 1) return;
    for (int i = 0; i < specimens; i++) {
        const sp_curve curve = sp_rig_curve(m->rig, i);
        end = fmin(end, sp_curve_end(&curve));
    }
    while (m->count > 2 && m->shortening[m->count - 1] > end) m->count--;
    for (int k = 0; k < m->count; k++) {
        double sum = 0, squares = 0;
        for (int i = 0; i < specimens; i++) {
            const sp_curve curve = sp_rig_curve(m->rig, i);
            const double force = i ? sp_curve_force(&curve, m->shortening[k]).value : m->force[k];
            sum += force;
            squares += force * force;
        }
        m->force[k] = sum / specimens;
        mean += m->force[k];
        square += fmax(0, squares - sum * sum / specimens) / (specimens - 1);
    }
    m->spread = mean > 0 ? sqrt(square * m->count) / mean : 0;
}

static void say_understood(sp_context *context, const sp_measured *m)
{
    char zero[400], several[80] = "";
    const sp_rig *rig = m->rig;
    const rig_specimen *s = &rig->specimen[0];
    sp_rig_zero_words(rig, s, zero, sizeof zero);
    if (rig->specimen_count > 1)
        snprintf(several, sizeof several,
                 "the mean of %d specimens, which spread by %.2g %%; first: ", rig->specimen_count,
                 100 * m->spread);
    sp_say(context,
           "%s: %s%d rows, travel \"%s\" in %s, force \"%s\" in %s, %d points to %.4g mm; zero %s",
           rig->file, several, s->raw.count, s->travel.name,
           s->travel.unit[0] ? s->travel.unit : "mm", s->force.name,
           s->force.unit[0] ? s->force.unit : "N", m->count, m->shortening[m->count - 1], zero);
}

sp_status sp_measured_read(sp_context *context, const char *file, const sp_rig_request *request,
                           sp_measured *measured)
{
    *measured = (sp_measured){0};
    sp_status status = sp_rig_read(context, file, request, &measured->rig);
    if (status != SP_OK) return status;
    const sp_rig *rig = measured->rig;
    if (rig->is_strain || rig->is_stress)
        return sp_fail(
            context, SP_NO_READ,
            "%s: received %s, and the size of the specimen is not known; valid: travel in mm and "
            "force in N, or height and area",
            file, rig->is_strain ? "strain" : "stress");
    const size_t count = (size_t)sp_rig_curve(rig, 0).count;
    measured->shortening = sp_alloc(count, sizeof *measured->shortening);
    measured->force = sp_alloc(count, sizeof *measured->force);
    if (!measured->shortening || !measured->force)
        return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
    take_mean(measured);
    say_understood(context, measured);
    return SP_OK;
}

sp_status sp_measured_node(plan_reader *r, const yaml_node_t *node, sp_rig_request *request,
                           char file[SP_FILE_SIZE])
{
    static const char *const name[] = {
        "file",      "specimen",          "cycle",         "zero",   "preload",
        "starts_at", "machine_stiffness", "machine_curve", "travel", "force"};
    enum { NAMES = sizeof name / sizeof *name, MACHINE_CURVE = 7 };
    static const char list_valid[] =
        "the name of a file, or `{file: FILE}` with specimen, cycle, zero, preload, starts_at, "
        "machine_stiffness, machine_curve, travel, force";
    const yaml_node_t *found[NAMES] = {NULL};
    char valid[200], path[SP_FILE_SIZE];
    if (node->type != YAML_MAPPING_NODE) return sp_plan_file(r, node, "curve", list_valid, file);
    sp_status status = sp_plan_read_mapping(r, node, "curve", name, NAMES, list_valid, found);
    if (status == SP_OK && !found[0])
        return sp_plan_refuse(r, node, "curve", "a curve without a file", "`file: FILE`", NULL);
    if (status == SP_OK) status = sp_plan_file(r, found[0], "file", "the name of a file", file);
    for (int i = 1; i < NAMES && status == SP_OK; i++) {
        if (!found[i]) continue;
        const char *text = sp_plan_text(found[i]);
        if (i == MACHINE_CURVE) {
            status = sp_plan_file(r, found[i], name[i], "the name of a file", path);
            text = path;
        }
        if (status == SP_OK && (found[i]->type != YAML_SCALAR_NODE ||
                                !sp_rig_request_set(request, name[i], text, valid, sizeof valid))) {
            sp_rig_request_set(request, name[i], "", valid, sizeof valid);
            status = sp_plan_refuse(r, found[i], name[i], sp_plan_text(found[i]), valid, NULL);
        }
    }
    return status;
}
