/* curve.csv: one line per accepted state, units in the column names, '.' as decimal point, empty
 * where a value is not a number. */
#include "write/text.h"
#include "writer/writer_list.h"

enum { DIGITS = 9 };

static void put(FILE *stream, double value)
{
    char text[SP_NUMBER_SIZE];
    sp_print(stream, ",%s", sp_number(text, value, DIGITS));
}

/* The columns of a press in time: when, in which segment and cycle, and where the dissipated energy
 * went. */
static void put_time(FILE *stream, const sp_path *path, int number, const sp_step *step)
{
    int at = 0;
    while (at + 1 < path->stage_count && number > path->stage[at].last) at++;
    put(stream, step->time);
    sp_print(stream, ",%s,%d", sp_segment_word(path->stage[at].segment.kind),
             path->stage[at].segment.cycle);
    put(stream, step->softened);
    put(stream, step->relaxed);
    put(stream, step->flowed);
    put(stream, step->mass_speed);
}

static void put_step(FILE *stream, const sp_path *path, int number, const sp_step *step)
{
    sp_print(stream, "%d", number);
    put(stream, step->shortening);
    put(stream, step->force);
    put(stream, step->shortening / path->size[1]);
    put(stream, step->force / (path->size[0] * path->size[2]));
    put(stream, step->stored);
    sp_print(stream, ",%d,%d,%d", step->contacts, step->iterations, step->negative_pivots == 0);
    put(stream, step->stiffness);
    put(stream, step->work);
    put(stream, step->released);
    put(stream, step->fibre_strain);
    put(stream, step->residual);
    put(stream, step->imbalance);
    sp_print(stream, ",%d,%d", step->factorizations, step->negative_pivots);
    put(stream, step->dissipated);
    if (path->stage_count > 0) put_time(stream, path, number, step);
    sp_print(stream, "\n");
}

sp_status sp_writer_curve_csv(sp_context *context, const sp_result *result, FILE *stream)
{
    const sp_path *path = &result->path;
    sp_print(stream,
             "step,shortening_mm,force_N,nominal_strain,nominal_stress_MPa,energy_mJ,"
             "contacts,iterations,stable,stiffness_N_per_mm,work_mJ,released_mJ,"
             "fibre_strain,residual_N,imbalance_N,factorizations,negative_pivots,"
             "dissipated_mJ%s\n",
             path->stage_count > 0
                 ? ",time_s,segment,cycle,softened_mJ,relaxed_mJ,flowed_mJ,mass_speed_mm_per_s"
                 : "");
    for (int i = 0; i < path->step_count; i++) put_step(stream, path, i, &path->step[i]);
    for (int i = 0; i < path->back_count; i++) /* the way back, when it was asked for */
        put_step(stream, path, path->step_count + i, &path->back[i]);
    return sp_stream_end(context, stream);
}
