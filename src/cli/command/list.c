/* list: the rows that a case or a result may contain. */
#include <string.h>
#include <unistd.h>

#include "terminal/cli.h"

static void list_patterns_of(int dimension, FILE *stream)
{
    for (int i = 0; i < sp_list_pattern_count(); i++) {
        sp_listed row = sp_list_pattern_at(i);
        if (row.dimension != dimension) continue;
        fprintf(stream, "%-24s %-13s ", row.alias[0] ? row.alias : row.name,
                row.alias[0] ? row.name : "");
        if (dimension == 2) fprintf(stream, "%2g deg  ", row.angle);
        fprintf(stream, "%s\n", row.doc);
    }
}

static void list_patterns(FILE *stream)
{
    fprintf(stream,
            "planar, extruded through the depth; with the angle of a case that gives none\n");
    list_patterns_of(2, stream);
    fprintf(stream, "\nspatial, round struts\n");
    list_patterns_of(3, stream);
    fprintf(stream, "\nwithout holes\n");
    list_patterns_of(0, stream);
}

static void list_laws(FILE *stream)
{
    for (int i = 0; i < sp_list_law_count(); i++) {
        sp_listed row = sp_list_law_at(i);
        fprintf(stream, "%-14s %s\n%-14s reads %s\n", row.name, row.doc, "", row.needs);
    }
}

static void list_measures(FILE *stream)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    for (int i = 0; i < count; i++)
        fprintf(stream, "%-32s %-6s %s\n", row[i].name, row[i].unit, row[i].doc);
    const sp_figure_row *figure = sp_figure_rows(&count);
    fprintf(stream, "\nwith an argument, as --figures and `require:` of a target take them\n");
    for (int i = 0; i < count; i++) {
        char name[64];
        const char *other = figure[i].argument_unit[1];
        snprintf(name, sizeof name, "%s A %s%s%s", figure[i].name, figure[i].argument_unit[0],
                 other[0] ? " or A " : "", other);
        fprintf(stream, "%-32s %-6s %s\n", name, figure[i].unit, figure[i].doc);
    }
}

static void list_writers(FILE *stream)
{
    int count;
    const sp_writer_row *row = sp_writer_rows(&count);
    for (int i = 0; i < count; i++)
        fprintf(stream, "%-16s %-18s %s\n", row[i].name, row[i].file, row[i].doc);
}

static void list_parameters(FILE *stream)
{
    for (int i = 0; i < sp_parameter_count(); i++) {
        sp_parameter row = sp_parameter_at(i);
        fprintf(stream, "%-26s %-12s %s\n%-26s %-12s valid: %s\n", row.key, row.fallback, row.doc,
                "", "", row.range);
    }
}

/* Print the name, then the comments of its file, which say where each value comes from, then the
 * values. */
static void list_filaments(FILE *stream)
{
    int count;
    const sp_filament *filament = sp_filaments(&count);
    for (int i = 0; i < count; i++) {
        fprintf(stream, "%s%s\n", i ? "\n" : "", filament[i].name);
        for (const char *at = filament[i].text; *at;) {
            const size_t length = strcspn(at, "\n");
            fprintf(stream, "  %.*s\n", (int)length, at);
            at += length + (at[length] == '\n');
        }
    }
}

static void list_protocols(FILE *stream)
{
    int count;
    const sp_ready_protocol *ready = sp_ready_protocols(&count);
    fprintf(stream, "segments of press.protocol, divided by commas or as a list\n");
    for (int i = 0; i < SP_SEGMENT_KINDS; i++)
        fprintf(stream, "  %s\n", sp_segment_doc((sp_segment_kind)i));
    fprintf(stream, "  repeat 4, SEGMENTS, end\n\nready-made, by name\n");
    for (int i = 0; i < count; i++)
        fprintf(stream, "  %s\n    %s\n    %s\n", ready[i].name, ready[i].doc, ready[i].text);
}

/* --- the same as records --- */

/* Rows contain "-" where there is no unit. */
static const char *unit_of(const char *unit)
{
    return strcmp(unit, "-") ? unit : "";
}

static void record_patterns(sp_records *records)
{
    static const char *const columns[] = {"name", "alias", "kind", "angle_deg", "doc"};
    static const char *const kind[] = {"solid", "", "planar", "spatial"};
    sp_records_begin(records, records->stream, records->format, ROW_COUNT(columns), columns);
    for (int i = 0; i < sp_list_pattern_count(); i++) {
        const sp_listed row = sp_list_pattern_at(i);
        sp_records_text(records, row.name);
        sp_records_text(records, row.alias);
        sp_records_text(records, kind[row.dimension]);
        sp_records_number(records, row.angle);
        sp_records_text(records, row.doc);
    }
}

static void record_laws(sp_records *records)
{
    static const char *const columns[] = {"name", "doc", "reads"};
    sp_records_begin(records, records->stream, records->format, ROW_COUNT(columns), columns);
    for (int i = 0; i < sp_list_law_count(); i++) {
        const sp_listed row = sp_list_law_at(i);
        sp_records_text(records, row.name);
        sp_records_text(records, row.doc);
        sp_records_text(records, row.needs);
    }
}

/* Figures with an argument have its units in the column `argument`, which is empty for the others.
 */
static void record_measures(sp_records *records)
{
    static const char *const columns[] = {"name", "unit", "argument", "doc"};
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    sp_records_begin(records, records->stream, records->format, ROW_COUNT(columns), columns);
    for (int i = 0; i < count; i++) {
        sp_records_text(records, row[i].name);
        sp_records_text(records, unit_of(row[i].unit));
        sp_records_text(records, "");
        sp_records_text(records, row[i].doc);
    }
    const sp_figure_row *figure = sp_figure_rows(&count);
    for (int i = 0; i < count; i++) {
        char units[64];
        const char *other = figure[i].argument_unit[1];
        snprintf(units, sizeof units, "%s%s%s", figure[i].argument_unit[0], other[0] ? " or " : "",
                 other);
        sp_records_text(records, figure[i].name);
        sp_records_text(records, unit_of(figure[i].unit));
        sp_records_text(records, units);
        sp_records_text(records, figure[i].doc);
    }
}

static void record_writers(sp_records *records)
{
    static const char *const columns[] = {"name", "file", "doc"};
    int count;
    const sp_writer_row *row = sp_writer_rows(&count);
    sp_records_begin(records, records->stream, records->format, ROW_COUNT(columns), columns);
    for (int i = 0; i < count; i++) {
        sp_records_text(records, row[i].name);
        sp_records_text(records, row[i].file);
        sp_records_text(records, row[i].doc);
    }
}

static void record_parameters(sp_records *records)
{
    static const char *const columns[] = {"key", "unit", "default", "range", "doc"};
    sp_records_begin(records, records->stream, records->format, ROW_COUNT(columns), columns);
    for (int i = 0; i < sp_parameter_count(); i++) {
        const sp_parameter row = sp_parameter_at(i);
        sp_records_text(records, row.key);
        sp_records_text(records, row.unit);
        sp_records_text(records, row.fallback);
        sp_records_text(records, row.range);
        sp_records_text(records, row.doc);
    }
}

static void record_filaments(sp_records *records)
{
    static const char *const columns[] = {"name"};
    int count;
    const sp_filament *filament = sp_filaments(&count);
    sp_records_begin(records, records->stream, records->format, ROW_COUNT(columns), columns);
    for (int i = 0; i < count; i++) sp_records_text(records, filament[i].name);
}

static void record_protocols(sp_records *records)
{
    static const char *const columns[] = {"name", "doc", "segments"};
    int count;
    const sp_ready_protocol *ready = sp_ready_protocols(&count);
    sp_records_begin(records, records->stream, records->format, ROW_COUNT(columns), columns);
    for (int i = 0; i < count; i++) {
        sp_records_text(records, ready[i].name);
        sp_records_text(records, ready[i].doc);
        sp_records_text(records, ready[i].text);
    }
}

static const struct {
    const char *name, *doc;
    void (*print)(FILE *stream);
    void (*record)(sp_records *records); /* NULL: there is a table for people only */
} lists[] = {
    {"patterns", "infill patterns: alias, vertex configuration, what it is", list_patterns,
     record_patterns},
    {"laws", "strut laws and the constants they read", list_laws, record_laws},
    {"measures", "figures taken from a curve, with unit and source", list_measures,
     record_measures},
    {"writers", "files a press writes", list_writers, record_writers},
    {"parameters", "keys of a case file: default, meaning, range", list_parameters,
     record_parameters},
    {"filaments", "material.filament by name: values and where each comes from", list_filaments,
     record_filaments},
    {"protocols", "segments of a press in time, and ready-made protocols", list_protocols,
     record_protocols},
    {"reference", "all of these as docs/reference.md", print_reference, NULL},
    {"completion-bash", "completion of this program for bash", print_bash_completion, NULL},
    {"completion-zsh", "the same for zsh", print_zsh_completion, NULL},
};
enum { LIST_COUNT = sizeof lists / sizeof lists[0] };

void explain_list(FILE *stream)
{
    for (int i = 0; i < LIST_COUNT; i++)
        fprintf(stream, "  %-15s %s\n", lists[i].name, lists[i].doc);
    fprintf(stream, "\n  --format json|csv        print records in place of the table\n");
}

static sp_status list_one(int which, sp_record_format format)
{
    sp_context context = {0};
    sp_records records = {.stream = stdout, .format = format};
    if (format == SP_FORMAT_TABLE) {
        lists[which].print(stdout);
        return SP_OK;
    }
    if (!lists[which].record)
        return fail_usage("list", "received --format with %s; valid: with any other list",
                          lists[which].name);
    lists[which].record(&records);
    const sp_status status = sp_records_end(&context, &records);
    return status == SP_OK ? SP_OK : fail_with(&context, status);
}

sp_status command_list(int argc, char **argv)
{
    sp_record_format format = SP_FORMAT_TABLE;
    const option_row rows[] = {{"format", 0, option_format, &format}};
    const char *valid = command_find("list")->arguments;
    int help;
    sp_status status = read_options(argc, argv, rows, ROW_COUNT(rows), &help);
    if (status != SP_OK || help) return status;
    if (optind == argc) return fail_usage("list", "received no word; valid: %s", valid);
    for (int i = 0; i < LIST_COUNT && optind + 1 == argc; i++)
        if (!strcmp(lists[i].name, argv[optind])) return list_one(i, format);
    return fail_usage("list", "received '%.60s'%s; valid: %s", argv[optind],
                      argc > optind + 1 ? " and more" : "", valid);
}
