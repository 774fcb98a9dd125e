/* list: the rows that a case or a result may contain. */
#include <string.h>

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

/* The name, then the comments of its file, which say where each value comes from, then the values. */
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

static const struct {
    const char *name, *doc;
    void (*print)(FILE *stream);
} lists[] = {
    {"patterns", "infill patterns: alias, vertex configuration, what it is", list_patterns},
    {"laws", "strut laws and the constants they read", list_laws},
    {"measures", "figures taken from a curve, with unit and source", list_measures},
    {"writers", "files a press writes", list_writers},
    {"parameters", "keys of a case file: default, meaning, range", list_parameters},
    {"filaments", "material.filament by name: values and where each comes from", list_filaments},
    {"protocols", "segments of a press in time, and ready-made protocols", list_protocols},
    {"reference", "all of these as docs/reference.md", print_reference},
};
enum { LIST_COUNT = sizeof lists / sizeof lists[0] };

void explain_list(FILE *stream)
{
    for (int i = 0; i < LIST_COUNT; i++)
        fprintf(stream, "  %-11s %s\n", lists[i].name, lists[i].doc);
}

sp_status command_list(int argc, char **argv)
{
    if (argc == 2 && (!strcmp(argv[1], "--help") || !strcmp(argv[1], "-h"))) {
        print_command_help(command_find("list"), stdout);
        return SP_OK;
    }
    for (int i = 0; i < LIST_COUNT && argc == 2; i++)
        if (!strcmp(lists[i].name, argv[1])) {
            lists[i].print(stdout);
            return SP_OK;
        }
    if (argc < 2)
        return fail_usage("list", "received no word; valid: %s", command_find("list")->arguments);
    return fail_usage("list", "received '%.60s'%s; valid: %s", argv[1], argc > 2 ? " and more" : "",
                      command_find("list")->arguments);
}
