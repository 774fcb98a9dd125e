/* Say what was understood of a file of a rig: in words, in a picture, in files. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "compare/lines.h"
#include "rig/rig_parts.h"
#include "write/file_set.h"
#include "write/json.h"
#include "write/text.h"

enum { DRAWN_MAX = 8, POINTS_MAX = 1500, DIGITS = 7, CYCLES_TOLD = 12 };

/* ---- words ----------------------------------------------- */

static const char *delimiter_word(char delimiter)
{
    switch (delimiter) {
    case '\t':
        return "tabs";
    case ';':
        return "semicolons";
    case '|':
        return "bars";
    case ',':
        return "commas";
    default:
        return "blanks";
    }
}

void sp_rig_zero_words(const sp_rig *rig, const rig_specimen *s, char *words, size_t size)
{
    const char *mm = sp_rig_travel_unit(rig), *n = sp_rig_force_unit(rig);
    char air[120] = "";
    if (s->air_rows)
        sp_format(air, sizeof air, "; force zero %.4g %s, the mean of %d rows before contact",
                  s->force_zero, n, s->air_rows);
    switch (s->zero) {
    case SP_ZERO_TOE:
        sp_format(words, size,
                  "toe compensation (ASTM D695 annex): the steepest line of the start, %.4g %s per "
                  "%s, meets "
                  "zero force at %.4g %s%s%s",
                  s->toe_slope, n, rig->is_strain ? "strain" : "mm", s->zero_at, mm,
                  s->toe_open ? " (no straight part follows)" : "", air);
        break;
    case SP_ZERO_PRELOAD:
        sp_format(words, size, "preload %g %s, first held at %.4g %s%s", rig->request.preload, n,
                  s->zero_at, mm, air);
        break;
    case SP_ZERO_CONTACT:
        sp_format(words, size, "contact at %.4g %s%s", s->zero_at, mm, air);
        break;
    case SP_ZERO_AT:
        sp_format(words, size, "given, %.4g %s%s", s->zero_at, mm, air);
        break;
    default:
        sp_format(words, size, "as in the file%s%s",
                  s->toe_open ? " (it stiffens to its end: no toe that ends)" : "", air);
    }
}

static void tell_columns(const sp_rig *rig, FILE *stream)
{
    const char *head =
        rig->is_guessed ? "no names: recognised by how their values run" : "by names and units";
    fprintf(stream, "columns      %d, %s\n", rig->column_count, head);
    for (int i = 0; i < rig->column_count; i++) {
        const sp_column *c = &rig->column[i];
        const int plain = c->quantity == SP_QUANTITY_UNKNOWN || c->factor == 1;
        sp_print(stream, "  %2d  %s%s%s%s%s: %s", i + 1, c->name[0] ? c->name : "(no name)",
                 c->unit[0] ? " [" : "", c->unit, c->unit[0] ? "]" : "", c->is_text ? ", text" : "",
                 sp_quantity_word(c->quantity));
        if (!plain) sp_print(stream, ", times %.8g", c->factor);
        if (!c->unit[0] && (c->quantity == SP_QUANTITY_TRAVEL || c->quantity == SP_QUANTITY_FORCE))
            sp_print(stream, ", taken as %s", c->quantity == SP_QUANTITY_TRAVEL ? "mm" : "N");
        fputc('\n', stream);
    }
}

static void tell_cycles(const sp_rig *rig, const rig_specimen *s, FILE *stream)
{
    const rig_cycle *c = &s->all[s->cycle];
    sp_print(stream, "  loading    ");
    if (s->cycle_count > 1) {
        sp_print(stream, "%d cycles to ", s->cycle_count + s->cycles_more);
        for (int i = 0; i < s->cycle_count && i < CYCLES_TOLD; i++)
            sp_print(stream, "%s%.4g", i ? ", " : "", s->all[i].furthest);
        sp_print(stream, "%s %s; cycle %d is taken, ", s->cycle_count > CYCLES_TOLD ? ", ..." : "",
                 sp_rig_travel_unit(rig), s->cycle + 1);
    }
    sp_print(stream, "%d rows", c->top - c->from + 1);
    if (c->end > c->top) sp_print(stream, ", %d behind it are left out", c->end - c->top);
    if (s->pooled) sp_print(stream, "; %d that went back were averaged", s->pooled);
    fputc('\n', stream);
}

static void tell_specimen(const sp_rig *rig, const rig_specimen *s, FILE *stream)
{
    char zero[400];
    const rig_rows *c = &s->curve;
    const char *mm = sp_rig_travel_unit(rig), *n = sp_rig_force_unit(rig);
    double largest = 0;
    for (int i = 0; i < c->count; i++) largest = fmax(largest, c->f[i]);
    sp_print(stream, "%s: %d rows, lines %d to %d\n", s->name, s->raw.count + s->spikes,
             s->first_line, s->last_line);
    if (s->travel_sign < 0 || s->force_sign < 0)
        sp_print(stream, "  signs      pressing is negative in the file (%s%s%s): turned\n",
                 s->travel_sign < 0 ? "travel" : "",
                 s->travel_sign < 0 && s->force_sign < 0 ? ", " : "",
                 s->force_sign < 0 ? "force" : "");
    if (s->left_out || s->spikes)
        sp_print(stream,
                 "  left out   %d rows without a number, %d whose force jumps away and back\n",
                 s->left_out, s->spikes);
    tell_cycles(rig, s, stream);
    sp_print(stream, "  noise      %.3g %s (standard deviation)\n", s->noise, n);
    if (rig->request.machine_stiffness > 0 || rig->machine.count)
        sp_print(stream, "  machine    up to %.4g %s of its own shortening taken off (%s)\n",
                 s->machine_share, mm,
                 rig->machine.count ? "platen on platen" : "machine_stiffness");
    else
        sp_print(
            stream,
            "  machine    taken as rigid: give machine_stiffness or machine_curve if it is not\n");
    sp_rig_zero_words(rig, s, zero, sizeof zero);
    sp_print(stream, "  zero       %s\n", zero);
    sp_print(stream, "  curve      %d points to %.4g %s, largest force %.4g %s\n", c->count,
             c->u[c->count - 1], mm, largest, n);
}

sp_status sp_rig_table(sp_context *context, const sp_rig *rig, FILE *stream)
{
    char name[SP_FILE_SIZE];
    sp_printable(rig->file, name, sizeof name);
    sp_print(stream, "%s\n", name);
    sp_print(stream, "file         %s; %d lines, %d rows of numbers between %s, decimal %s%s\n",
             rig->encoding, rig->line_count, rig->row_count, delimiter_word(rig->delimiter),
             rig->decimal == ',' ? "comma" : "point",
             rig->grouped ? ", marks between thousands" : "");
    if (rig->short_rows)
        sp_print(stream, "             %d rows of numbers in short tables are left out\n",
                 rig->short_rows);
    tell_columns(rig, stream);
    if (rig->found_count > rig->specimen_count)
        sp_print(stream, "specimens    %d; the one asked for is shown\n", rig->found_count);
    for (int i = 0; i < rig->specimen_count; i++) tell_specimen(rig, &rig->specimen[i], stream);
    return sp_stream_end(context, stream);
}

/* ---- picture ----------------------------------------------- */

/* Add a line of at most POINTS_MAX points by taking every n-th row, with its zero moved by u
 * and f. `scale` multiplies the travel: 100 where a strain is drawn in per cent. */
static plot_line *add_line(plot_lines *all, double scale, const rig_rows *rows, int style,
                           const char *what, const char *name, double u, double f)
{
    char label[SP_COLUMN_TEXT_SIZE + 40];
    const int step = rows->count / POINTS_MAX + 1;
    snprintf(label, sizeof label, "%s: %s", name, what);
    plot_line *line = sp_plot_lines_add(all, style, POINTS_MAX, label);
    for (int i = 0; line && i < rows->count && line->count < POINTS_MAX; i += step)
        sp_plot_lines_point(line, scale * (rows->u[i] - u), rows->f[i] - f);
    return line;
}

/* Draw all rows of the file, moved so that the zeros meet, the rows that were taken, and the line
 * of the toe. 0: no memory. */
static int draw_specimen(plot_lines *all, double scale, const rig_specimen *s, int colour)
{
    double largest = 0;
    for (int i = 0; i < s->curve.count; i++) largest = fmax(largest, s->curve.f[i]);
    if (!add_line(all, scale, &s->raw, colour + 2 * PLOT_COLOURS, "rows of the file", s->name,
                  s->zero_at, s->force_zero) ||
        !add_line(all, scale, &s->curve, colour, "taken", s->name, 0, 0))
        return 0;
    if (s->zero != SP_ZERO_TOE) return 1;
    double u[2] = {0, 0.6 * largest / s->toe_slope}, f[2] = {0, 0.6 * largest};
    const rig_rows toe = {2, u, f};
    return add_line(all, scale, &toe, colour + PLOT_COLOURS, "line of the toe", s->name, 0, 0) !=
           NULL;
}

sp_status sp_rig_draw(sp_context *context, const sp_rig *rig, FILE *stream)
{
    static const char *const how[] = {"",    "as in the file",          "contact",
                                      "toe", "where the preload holds", "as given"};
    char title[160], note[200], name[120], x_name[60], y_name[40];
    const char *slash = strrchr(rig->file, '/');
    plot_lines all = {0};
    int drawn = 1;
    const int count = rig->specimen_count < DRAWN_MAX ? rig->specimen_count : DRAWN_MAX;
    const double scale = rig->is_strain ? 100 : 1;
    for (int i = 0; drawn && i < count; i++)
        drawn = draw_specimen(&all, scale, &rig->specimen[i], i % PLOT_COLOURS);
    sp_status status = SP_OK;
    if (!drawn) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for a picture");
        goto done;
    }
    sp_printable(slash ? slash + 1 : rig->file, name, sizeof name);
    snprintf(title, sizeof title, "What was understood of %s", name);
    sp_format(note, sizeof note, "zero of %s: %s, at %.4g %s of the file%s", rig->specimen[0].name,
              how[rig->specimen[0].zero], scale * rig->specimen[0].zero_at,
              rig->is_strain ? "%" : sp_rig_travel_unit(rig),
              count < rig->specimen_count ? "; the first of many specimens" : "");
    snprintf(x_name, sizeof x_name, "%s",
             rig->is_strain ? "nominal strain [%]" : "shortening from zero [mm]");
    snprintf(y_name, sizeof y_name, "%s [%s]", rig->is_stress ? "nominal stress" : "force",
             sp_rig_force_unit(rig));
    const plot picture = {.title = title,
                          .x_name = x_name,
                          .y_name = y_name,
                          .note = note,
                          .is_measured = 1,
                          .line_count = all.count,
                          .line = all.line};
    sp_plot_draw(&picture, stream);
    status = sp_stream_end(context, stream);
done:
    sp_plot_lines_free(&all);
    return status;
}

/* ---- files ----------------------------------------------- */

static json_t *specimen_json(const sp_rig *rig, const rig_specimen *s, int *failed)
{
    char zero[400];
    json_t *object = json_object();
    sp_rig_zero_words(rig, s, zero, sizeof zero);
    sp_json_put(object, "name", sp_json_text(s->name), failed);
    sp_json_put(object, "travel_column", sp_json_text(s->travel.name), failed);
    sp_json_put(object, "force_column", sp_json_text(s->force.name), failed);
    sp_json_put(object, "rows", json_integer(s->raw.count), failed);
    sp_json_put(object, "cycles", json_integer(s->cycle_count + s->cycles_more), failed);
    sp_json_put(object, "cycle", json_integer(s->cycle + 1), failed);
    sp_json_put(object, "points", json_integer(s->curve.count), failed);
    sp_json_put(object, "noise", sp_json_number(s->noise), failed);
    sp_json_put(object, "force_zero", sp_json_number(s->force_zero), failed);
    sp_json_put(object, "zero_at", sp_json_number(s->zero_at), failed);
    sp_json_put(object, "zero", sp_json_text(zero), failed);
    sp_json_put(object, "steepest_slope", sp_json_number(s->toe_slope), failed);
    sp_json_put(object, "machine_shortening", sp_json_number(s->machine_share), failed);
    return object;
}

static sp_status write_json(sp_context *context, const sp_rig *rig, FILE *stream)
{
    int failed = 0;
    json_t *root = json_object(), *list = json_array();
    const char decimal[2] = {rig->decimal, 0};
    sp_json_put(root, "file", sp_json_text(rig->file), &failed);
    sp_json_put(root, "encoding", sp_json_text(rig->encoding), &failed);
    sp_json_put(root, "delimiter", sp_json_text(delimiter_word(rig->delimiter)), &failed);
    sp_json_put(root, "decimal_mark", sp_json_text(decimal), &failed);
    sp_json_put(root, "travel_unit", sp_json_text(rig->is_strain ? "-" : "mm"), &failed);
    sp_json_put(root, "force_unit", sp_json_text(sp_rig_force_unit(rig)), &failed);
    for (int i = 0; i < rig->specimen_count; i++)
        sp_json_append(list, specimen_json(rig, &rig->specimen[i], &failed), &failed);
    sp_json_put(root, "specimens", list, &failed);
    if (!failed && root) failed = json_dumpf(root, stream, JSON_INDENT(2)) != 0;
    json_decref(root);
    fputc('\n', stream);
    const sp_status status = sp_stream_end(context, stream);
    return status == SP_OK && failed ? sp_fail(context, SP_NO_MEMORY, "no memory for rig.json")
                                     : status;
}

static sp_status write_curve(sp_context *context, const sp_rig *rig, int specimen, FILE *stream)
{
    char u[SP_NUMBER_SIZE], f[SP_NUMBER_SIZE];
    const rig_rows *c = &rig->specimen[specimen].curve;
    sp_print(stream, "%s,%s\n", rig->is_strain ? "strain" : "shortening_mm",
             rig->is_stress ? "stress_MPa" : "force_N");
    for (int i = 0; i < c->count; i++)
        sp_print(stream, "%s,%s\n", sp_number(u, c->u[i], DIGITS), sp_number(f, c->f[i], DIGITS));
    return sp_stream_end(context, stream);
}

sp_status sp_rig_write(sp_context *context, const sp_rig *rig, const char *folder)
{
    sp_file_set set;
    sp_status status = sp_file_set_begin(context, &set, folder, "rig", 2 + rig->specimen_count);
    if (status != SP_OK) return status;
    status = sp_file_set_open(context, &set, "rig.svg");
    if (status == SP_OK)
        status = sp_file_set_close(context, &set, sp_rig_draw(context, rig, set.stream));
    if (status == SP_OK) status = sp_file_set_open(context, &set, "rig.json");
    if (status == SP_OK)
        status = sp_file_set_close(context, &set, write_json(context, rig, set.stream));
    for (int i = 0; i < rig->specimen_count && status == SP_OK; i++) {
        char name[40];
        snprintf(name, sizeof name, "rig-%d.csv", i + 1);
        status = sp_file_set_open(context, &set, name);
        if (status == SP_OK)
            status = sp_file_set_close(context, &set, write_curve(context, rig, i, set.stream));
    }
    return sp_file_set_end(context, &set, status);
}
