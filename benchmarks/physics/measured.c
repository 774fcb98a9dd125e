/* `measured DATA-FOLDER WORK-FOLDER` compares predictions with measured specimens. It writes
 * curves.svg and table.md into the work folder, whose name is absolute.
 *
 * The block of tests/data/beam_lattices (ORIGIN.txt there) is pressed as it is described and with
 * one thing changed at a time: every change is a choice that the description leaves open, or a
 * question to the model. Beside them stand the fitted case (pa12_fitted.yaml, the mean of three
 * flaw seeds) and the beam model of the authors of the data (the first of its three runs). */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "run/result.h"

#include "compare/plot.h"
#include "table/table_file.h"
#include "../../tests/measured_curve.h"
#include "write/text.h"

enum { SPECIMENS = 3, STRAINS = 5 };

typedef struct variant {
    const char *name;
    const char *change; /* "section.name=value", several with ';' between, or NULL */
    int main;           /* drawn, and shown in newtons */
    const char *file;   /* of the case; NULL: body_centred_block.yaml */
} variant;

/* Files are relative to the case; $ stands for the work folder with the tables that this program
 * writes. */
static const variant variants[] = {
    {"as described", NULL, 1, NULL},
    {"reversible: law tabulated", "material.law=tabulated", 1, NULL},
    {"without yield: straight on", "material.law=tabulated;material.table=$/straight.csv", 1, NULL},
    {"corners round by a third of a strut", "model.joint_zone=1", 0, NULL},
    {"corners filled", "model.joint_zone=2", 1, NULL},
    {"corners filled, curve at 1e-1 /s",
     "model.joint_zone=2;material.table=tension/asu_uni_test_1e-1.txt", 0, NULL},
    {"no joint zones", "model.joint_zone=0", 0, NULL},
    {"struts of 1.25 mm", "infill.strut_diameter=1.25 mm", 0, NULL},
    {"struts of 1.3 mm", "infill.strut_diameter=1.3 mm", 0, NULL},
    {"tension curve at 1e-1 /s", "material.table=tension/asu_uni_test_1e-1.txt", 0, NULL},
    {"tension curve at 1e-2 /s", "material.table=tension/asu_uni_test_1e-2.txt", 0, NULL},
    {"tension curve at 1e-4 /s", "material.table=tension/asu_uni_test_1e-4.txt", 0, NULL},
    {"friction 0.3 between struts", "material.friction=0.3", 0, NULL},
    {"friction 0.6 between struts", "material.friction=0.6", 0, NULL},
    {"platens that let joints turn", "platens.hold=friction;platens.friction=2.5", 0, NULL},
    {"sliding platens", "platens.hold=sliding", 0, NULL},
    {"without flaws", "flaws.seed=0", 0, NULL},
    {"flaw seed 2", "flaws.seed=2", 0, NULL},
    {"flaw seed 3", "flaws.seed=3", 0, NULL},
    {"8 elements a strut", "model.elements_per_strut=8", 0, NULL},
    {"24 elements a strut", "model.elements_per_strut=24", 0, NULL},
    {"560 steps", "press.steps=560", 0, NULL},
    {"fitted, flaw seed 1", "flaws.seed=1", 0, "pa12_fitted.yaml"},
    {"fitted, flaw seed 2", "flaws.seed=2", 0, "pa12_fitted.yaml"},
    {"fitted, flaw seed 3", "flaws.seed=3", 0, "pa12_fitted.yaml"},
};
enum { VARIANTS = sizeof variants / sizeof variants[0], SEEDS = 3, FITTED = VARIANTS - SEEDS };

/* These curves are compared with the variants. */
enum { FITTED_MEAN, AUTHORS, OTHERS };
static const char *const other_name[OTHERS] = {"fitted, mean of three flaw seeds",
                                               "the beam model of the data's authors"};

/* This variant finds where the block without flaws loses stability, elastic throughout. */
static const variant perfect = {"critical step of the elastic block without flaws",
                                "material.law=tabulated;material.table=$/straight.csv;"
                                "press.find_critical=yes;press.strain=6 %",
                                0, NULL};

typedef struct figures {
    double stiffness[2];                  /* between 10 and 30, 20 and 60 N [N/mm] */
    double bend;                          /* force where the curve leaves its straight start [N] */
    double peak, peak_at, force[STRAINS]; /* N, mm, N at 10, 20 .. 50 % */
} figures;

static FILE *open_in(sp_context *context, const char *folder, const char *name)
{
    char file[SP_FILE_SIZE];
    snprintf(file, sizeof file, "%s/%s", folder, name);
    FILE *stream = fopen(file, "w");
    if (!stream) sp_fail(context, SP_NO_WRITE, "%s: cannot be written", file);
    return stream;
}

static figures read_off(const measured_curve *curve, double height)
{
    figures f;
    f.stiffness[0] = measured_stiffness(curve, 10, 30);
    f.stiffness[1] = measured_stiffness(curve, 20, 60);
    f.bend = measured_bend(curve, 10, 30);
    f.peak = measured_first_peak(curve, &f.peak_at);
    for (int i = 0; i < STRAINS; i++) f.force[i] = measured_force(curve, 0.1 * (i + 1) * height);
    return f;
}

/* ---- made tables ----------------------------------------------- */

/* Write a straight law: the secant at 1 % strain of the measured tension rows, continued to both
 * sides in true stress. The true stress at a stretch 1/l is that at l with the other sign, so the
 * nominal stress is l^2 times that at l. */
static sp_status write_straight(sp_context *context, const sp_table_rows *rows, FILE *stream)
{
    double secant = 0;
    sp_print(stream, "strain,stress\n0,0\n");
    for (int i = 0; i < rows->count; i++) {
        const double strain = rows->row[i].strain, l = 1 + strain;
        if (strain <= 0) continue;
        if (strain <= 0.01) secant = rows->row[i].stress / strain;
        sp_print(stream, "%.9g,%.9g\n%.9g,%.9g\n", strain, secant * strain, 1 / l - 1,
                 -secant * strain * l * l);
    }
    return sp_stream_end(context, stream);
}

static sp_status make_table(sp_context *context, const char *data, const char *work)
{
    char file[SP_FILE_SIZE];
    sp_table_rows rows = {0};
    snprintf(file, sizeof file, "%s/tension/asu_uni_test_1e-3.txt", data);
    sp_status status = sp_table_read(context, file, &sp_strain_stress, &rows);
    FILE *stream = status == SP_OK ? open_in(context, work, "straight.csv") : NULL;
    if (status == SP_OK) status = stream ? write_straight(context, &rows, stream) : SP_NO_WRITE;
    if (stream) fclose(stream);
    sp_table_free(&rows);
    return status;
}

/* ---- presses ----------------------------------------------- */

/* Make the changes of a variant, one after another. */
static sp_status change(sp_context *context, sp_case *request, const char *text, const char *work)
{
    sp_status status = SP_OK;
    while (text && *text && status == SP_OK) {
        char key[64], value[SP_FILE_SIZE];
        const size_t name = strcspn(text, "="), length = strcspn(text + name + 1, ";");
        const char *given = text + name + 1;
        const int is_made = *given == '$';
        snprintf(key, sizeof key, "%.*s", (int)name, text);
        snprintf(value, sizeof value, "%s%.*s", is_made ? work : "", (int)length - is_made,
                 given + is_made);
        status = sp_case_set(context, request, key, value);
        text = given + length + (given[length] == ';');
    }
    return status;
}

static sp_status press(sp_context *context, const variant *v, const char *data, const char *work,
                       measured_curve *curve, sp_critical *critical)
{
    char file[SP_FILE_SIZE];
    sp_case request;
    sp_result result = {0};
    snprintf(file, sizeof file, "%s/%s", data, v->file ? v->file : "body_centred_block.yaml");
    sp_status status = sp_case_read(context, file, &request);
    if (status == SP_OK) status = change(context, &request, v->change, work);
    if (status == SP_OK) status = sp_case_check(context, &request);
    if (status == SP_OK) status = sp_result_press(context, &request, &result);
    if (status == SP_OK && !measured_curve_of_path(&result.path, curve))
        status = sp_fail(context, SP_NO_MEMORY, "no memory for a curve");
    fprintf(stderr, "%s: %s, %.0f s\n", v->name,
            *context->message     ? context->message
            : *result.path.reason ? result.path.reason
                                  : "pressed",
            result.path.seconds_total);
    *critical = result.path.critical;
    sp_result_clear(&result);
    return status;
}

static sp_status press_all(sp_context *context, const char *data, const char *work,
                           measured_curve *curve)
{
    sp_status worst = SP_OK;
#pragma omp parallel for schedule(dynamic, 1)
    for (int i = 0; i < VARIANTS; i++) {
        sp_context own = {0};
        sp_critical none;
        const sp_status status = press(&own, &variants[i], data, work, &curve[i], &none);
#pragma omp critical
        if (status != SP_OK) worst = sp_fail(context, status, "%s", own.message);
    }
    return worst;
}

/* Find the mean of the fitted presses at the shortenings of the first one, as far as all of them
 * go. */
static int take_mean(const measured_curve *fitted, measured_curve *mean)
{
    const measured_curve *first = &fitted[0];
    mean->count = 0;
    mean->shortening = malloc((size_t)first->count * sizeof(double));
    mean->force = malloc((size_t)first->count * sizeof(double));
    if (!mean->shortening || !mean->force) return 0;
    for (int i = 0; i < first->count; i++) {
        double sum = 0;
        for (int k = 0; k < SEEDS; k++) sum += measured_force(&fitted[k], first->shortening[i]);
        if (!isfinite(sum)) continue;
        mean->shortening[mean->count] = first->shortening[i];
        mean->force[mean->count++] = sum / SEEDS;
    }
    return 1;
}

/* ---- picture and table ----------------------------------------------- */

static sp_status draw(sp_context *context, const char *work, const measured_curve *specimen,
                      const measured_curve *predicted, const measured_curve *other)
{
    plot_line line[SPECIMENS + VARIANTS + OTHERS] = {0};
    int count = 0;
    const int ink = 6, colours = 7; /* styles of plot.c: colour first, then dashes */
    static const char *const names[SPECIMENS] = {"measured, specimen 1", "measured, specimen 2",
                                                 "measured, specimen 3"};
    for (int i = 0; i < SPECIMENS; i++)
        line[count++] = (plot_line){.label = names[i],
                                    .style = ink + colours * i,
                                    .count = specimen[i].count,
                                    .x = specimen[i].shortening,
                                    .y = specimen[i].force};
    for (int i = 0; i < VARIANTS; i++)
        if (variants[i].main) {
            line[count] = (plot_line){.label = variants[i].name,
                                      .style = count - SPECIMENS,
                                      .count = predicted[i].count,
                                      .x = predicted[i].shortening,
                                      .y = predicted[i].force};
            count++;
        }
    for (int i = 0; i < OTHERS; i++, count++)
        line[count] = (plot_line){.label = other_name[i],
                                  .style = count - SPECIMENS,
                                  .count = other[i].count,
                                  .x = other[i].shortening,
                                  .y = other[i].force};
    const plot picture = {.title = "Block of body-centred cells, 60 mm: measured and predicted",
                          .x_name = "shortening [mm]",
                          .y_name = "force [N]",
                          .note = "measured: O. Weeger and co-workers, TU Darmstadt, CC BY 4.0, "
                                  "doi 10.1016/j.addlet.2022.100111",
                          .line_count = count,
                          .line = line};
    FILE *stream = open_in(context, work, "curves.svg");
    if (!stream) return SP_NO_WRITE;
    sp_plot_draw(&picture, stream);
    const sp_status status = sp_stream_end(context, stream);
    fclose(stream);
    return status;
}

/* Print one cell of a table; a dash where the curve does not go so far. */
static void cell(FILE *stream, const char *format, double value)
{
    char text[32] = "-";
    if (isfinite(value)) sp_format(text, sizeof text, format, value);
    sp_print(stream, " %s |", text);
}

static void row_of(FILE *stream, const char *name, const figures *f)
{
    sp_print(stream, "| %s |", name);
    for (int i = 0; i < 2; i++) cell(stream, "%.1f", f->stiffness[i]);
    cell(stream, "%.0f", f->bend);
    cell(stream, "%.1f", f->peak);
    cell(stream, "%.1f", f->peak_at);
    for (int i = 0; i < STRAINS; i++) cell(stream, "%.0f", f->force[i]);
    sp_print(stream, "\n");
}

static void ratios_of(FILE *stream, const char *name, const figures *f, const figures *mean)
{
    sp_print(stream, "| %s |", name);
    for (int i = 0; i < 2; i++) cell(stream, "%.2f", f->stiffness[i] / mean->stiffness[i]);
    cell(stream, "%.2f", f->bend / mean->bend);
    cell(stream, "%.2f", f->peak / mean->peak);
    cell(stream, "%.2f", f->peak_at / mean->peak_at);
    for (int i = 0; i < STRAINS; i++) cell(stream, "%.2f", f->force[i] / mean->force[i]);
    sp_print(stream, "\n");
}

static figures mean_of(const figures *f)
{
    figures mean = {0};
    for (int k = 0; k < SPECIMENS; k++) {
        for (int i = 0; i < 2; i++) mean.stiffness[i] += f[k].stiffness[i] / SPECIMENS;
        mean.bend += f[k].bend / SPECIMENS;
        mean.peak += f[k].peak / SPECIMENS;
        mean.peak_at += f[k].peak_at / SPECIMENS;
        for (int i = 0; i < STRAINS; i++) mean.force[i] += f[k].force[i] / SPECIMENS;
    }
    return mean;
}

static const char *const rule = "|---|---|---|---|---|---|---|---|---|---|---|\n",
                         *const strains = " 10 % | 20 % | 30 % | 40 % | 50 % |\n";

static sp_status tell(sp_context *context, const char *work, double height,
                      const measured_curve *specimen, const measured_curve *predicted,
                      const measured_curve *other, const sp_critical *critical)
{
    figures measured[SPECIMENS];
    FILE *stream = open_in(context, work, "table.md");
    if (!stream) return SP_NO_WRITE;
    sp_print(stream,
             "| | stiffness 10-30 N, N/mm | 20-60 N | bends at, N | first peak, N | at, mm "
             "|%s%s",
             strains, rule);
    for (int i = 0; i < SPECIMENS; i++) {
        char name[32];
        snprintf(name, sizeof name, "specimen %d", i + 1);
        measured[i] = read_off(&specimen[i], height);
        row_of(stream, name, &measured[i]);
    }
    const figures mean = mean_of(measured);
    row_of(stream, "mean of the specimens", &mean);
    for (int i = 0; i < VARIANTS; i++)
        if (variants[i].main) {
            const figures f = read_off(&predicted[i], height);
            row_of(stream, variants[i].name, &f);
        }
    for (int i = 0; i < OTHERS; i++) {
        const figures f = read_off(&other[i], height);
        row_of(stream, other_name[i], &f);
    }
    sp_print(
        stream,
        "\nElastic throughout, the block without flaws buckles at %.1f N and %.2f mm (critical "
        "step, a %s).\n",
        critical->force, critical->shortening, sp_critical_word(critical->kind));
    sp_print(stream, "\nPredicted over the mean of the specimens; below the first row one thing is "
                     "changed at a time, a dash is beyond the end of a curve:\n\n");
    sp_print(stream, "| | stiffness 10-30 N | 20-60 N | bends at | first peak | at |%s%s", strains,
             rule);
    for (int i = 0; i < VARIANTS; i++) {
        const figures f = read_off(&predicted[i], height);
        ratios_of(stream, variants[i].name, &f, &mean);
    }
    for (int i = 0; i < OTHERS; i++) {
        const figures f = read_off(&other[i], height);
        ratios_of(stream, other_name[i], &f, &mean);
    }
    const sp_status status = sp_stream_end(context, stream);
    fclose(stream);
    return status;
}

int main(int argc, char **argv)
{
    sp_context context = {0};
    sp_case request;
    measured_curve specimen[SPECIMENS] = {{0}}, predicted[VARIANTS] = {{0}}, unused = {0};
    measured_curve other[OTHERS] = {{0}}, authors[SPECIMENS] = {{0}};
    sp_critical critical;
    char file[SP_FILE_SIZE];
    if (argc != 3 || argv[2][0] != '/') {
        fprintf(stderr, "usage: measured DATA-FOLDER WORK-FOLDER (an absolute name)\n");
        return 2;
    }
    snprintf(file, sizeof file, "%s/body_centred_block.yaml", argv[1]);
    sp_status status = sp_case_read(&context, file, &request);
    snprintf(file, sizeof file, "%s/press/asu_bcc_d12_exp.txt", argv[1]);
    if (status == SP_OK && !measured_curves_read(file, specimen, SPECIMENS))
        status = sp_fail(&context, SP_NO_READ, "%s: not %d pairs of columns", file, SPECIMENS);
    snprintf(file, sizeof file, "%s/press/asu_bcc_d12_sim.txt", argv[1]);
    if (status == SP_OK && !measured_curves_read(file, authors, SPECIMENS))
        status = sp_fail(&context, SP_NO_READ, "%s: not %d pairs of columns", file, SPECIMENS);
    other[AUTHORS] = authors[0];
    if (status == SP_OK) status = make_table(&context, argv[1], argv[2]);
    if (status == SP_OK) status = press(&context, &perfect, argv[1], argv[2], &unused, &critical);
    if (status == SP_OK && !critical.found)
        status = sp_fail(&context, SP_GAVE_UP, "no critical step of the elastic block");
    if (status == SP_OK) status = press_all(&context, argv[1], argv[2], predicted);
    if (status == SP_OK && !take_mean(&predicted[FITTED], &other[FITTED_MEAN]))
        status = sp_fail(&context, SP_NO_MEMORY, "no memory for a curve");
    if (status == SP_OK) status = draw(&context, argv[2], specimen, predicted, other);
    if (status == SP_OK)
        status = tell(&context, argv[2], request.height, specimen, predicted, other, &critical);
    if (status != SP_OK) fprintf(stderr, "measured: %s\n", context.message);
    measured_curve_free(&unused);
    measured_curve_free(&other[FITTED_MEAN]);
    for (int i = 0; i < SPECIMENS; i++) measured_curve_free(&authors[i]);
    for (int i = 0; i < SPECIMENS; i++) measured_curve_free(&specimen[i]);
    for (int i = 0; i < VARIANTS; i++) measured_curve_free(&predicted[i]);
    return sp_status_exit(status);
}
