/* This file prints docs/reference.md from the rows, so that the page always says what the program
 * does. */
#include <string.h>

#include "terminal/cli.h"

/* Print the text of a table cell. A bar would end the cell, so it is escaped. */
static void print_cell(FILE *stream, const char *text)
{
    fputs("| ", stream);
    for (; *text; text++) {
        if (*text == '|') fputc('\\', stream);
        fputc(*text, stream);
    }
    fputc(' ', stream);
}

static void print_row(FILE *stream, int count, const char *const *cells)
{
    for (int i = 0; i < count; i++) print_cell(stream, cells[i]);
    fputs("|\n", stream);
}

#define PRINT_ROW(stream, ...)                                                                     \
    print_row(stream, (int)(sizeof((const char *[]){__VA_ARGS__}) / sizeof(char *)),               \
              (const char *[]){__VA_ARGS__})

static void print_head(FILE *stream, const char *title, const char *text, const char *columns)
{
    fprintf(stream, "\n## %s\n\n%s\n\n%s\n", title, text, columns);
    for (; *columns; columns++)
        if (*columns == '|') fputs(columns[1] ? "|---" : "|\n", stream);
}

static void print_parameters(FILE *stream)
{
    print_head(
        stream, "Case file",
        "YAML: one mapping per section, `name: value` below it. A value may carry one of its "
        "units; without one it is read in the first unit listed (a fraction for %). "
        "`infill.offset: [x, y]` stands for the offsets, `infill.cells: [x, y, z]` for the cells. "
        "Every key may be left out.",
        "| key | default | valid | meaning |");
    for (int i = 0; i < sp_parameter_count(); i++) {
        sp_parameter row = sp_parameter_at(i);
        PRINT_ROW(stream, row.key, row.fallback, row.range, row.doc);
    }
}

static void print_patterns(FILE *stream, int dimension)
{
    for (int i = 0; i < sp_list_pattern_count(); i++) {
        sp_listed row = sp_list_pattern_at(i);
        char angle[32];
        snprintf(angle, sizeof angle, "%g deg", row.angle);
        if (row.dimension != dimension) continue;
        if (dimension == 2)
            PRINT_ROW(stream, row.name, row.alias, angle, row.doc);
        else
            PRINT_ROW(stream, row.name, row.alias, row.doc);
    }
}

static void print_names(FILE *stream)
{
    print_head(
        stream, "Planar patterns",
        "Extruded through the depth, in which the printed layers are stacked, and pressed in "
        "their plane along the height; with `press.direction: along` printed flat and pressed "
        "along "
        "the extrusion. `infill.pattern` takes the name or the alias; the angle is "
        "that of a case without `infill.angle`.",
        "| name | alias | angle | what it is |");
    print_patterns(stream, 2);
    print_head(stream, "Spatial patterns",
               "Round struts. Of `density`, `cells` or `cell_size`, and `strut_diameter` two are "
               "given, the third follows.",
               "| name | alias | what it is |");
    print_patterns(stream, 3);
    print_head(stream, "Without holes",
               "It reads sizes, law, modulus, solid density, platens and press; no infill, beads, "
               "flaws or model.",
               "| name | alias | what it is |");
    print_patterns(stream, 0);
    print_head(stream, "Laws", "`material.law`; the constants stand in `material`.",
               "| name | reads | what it is for |");
    for (int i = 0; i < sp_list_law_count(); i++) {
        sp_listed row = sp_list_law_at(i);
        PRINT_ROW(stream, row.name, row.needs, row.doc);
    }
}

static void print_results(FILE *stream)
{
    int count;
    const sp_measure_row *measure = sp_measure_rows(&count);
    print_head(stream, "Measures", "A curve that does not get there gives \"not reached\".",
               "| name | unit | definition |");
    for (int i = 0; i < count; i++)
        PRINT_ROW(stream, measure[i].name, measure[i].unit, measure[i].doc);
    const sp_figure_row *figure = sp_figure_rows(&count);
    print_head(stream, "Figures with an argument",
               "As `press --figures` and `require:` of a target take them: `force_at 25 %`, "
               "`force_at 6 mm`.",
               "| name | units of the argument | unit | definition |");
    for (int i = 0; i < count; i++)
        fprintf(stream, "| %s | %s%s%s | %s | %s |\n", figure[i].name, figure[i].argument_unit[0],
                figure[i].argument_unit[1][0] ? ", " : "", figure[i].argument_unit[1],
                figure[i].unit, figure[i].doc);
    const sp_writer_row *writer = sp_writer_rows(&count);
    print_head(stream, "Files of a press",
               "Written as one set: complete, or as before. `.strutpress-files` lists what the "
               "program wrote.",
               "| writer | file | content |");
    for (int i = 0; i < count; i++)
        PRINT_ROW(stream, writer[i].name, writer[i].file, writer[i].doc);
}

static void print_statuses(FILE *stream)
{
    char number[8];
    print_head(stream, "Exit status", "Of the program; the library returns the same rows.",
               "| status | cause |");
#define SP_STATUS_LINE(code, exit_status, text)                                                    \
    snprintf(number, sizeof number, "%d", exit_status);                                            \
    PRINT_ROW(stream, number, text);
    SP_STATUS_ROWS(SP_STATUS_LINE)
#undef SP_STATUS_LINE
}

static void print_commands(FILE *stream)
{
    int count;
    const command_row *row = command_rows(&count);
    print_head(stream, "Commands", "`strutpress help COMMAND` says more.",
               "| command | arguments | what it does |");
    for (int i = 0; i < count; i++) PRINT_ROW(stream, row[i].name, row[i].arguments, row[i].doc);
}

void print_reference(FILE *stream)
{
    fprintf(stream,
            "# Reference\n\nPrinted from the rows of the program by `make docs`; do not edit.\n");
    print_commands(stream);
    print_parameters(stream);
    print_names(stream);
    print_results(stream);
    print_statuses(stream);
}
