/* The table of a run for a terminal. */
#include <math.h>
#include <string.h>

#include "write/caution.h"
#include "write/text.h"

#include <strutpress/write.h>

#define NAME_WIDTH 32
#define NUMBER_WIDTH 12
#define DIGITS 4
#define LINE_WIDTH 96
#define TEXT_SIZE 1200

static void put_clean(FILE *stream, const char *text)
{
    char clean[TEXT_SIZE];
    sp_printable(text, clean, sizeof clean);
    fputs(clean, stream);
}

/* Words of `text` in lines of LINE_WIDTH columns, each after `indent` spaces; the first line is begun already. */
static void put_wrapped(FILE *stream, int indent, const char *text)
{
    int column = indent;
    for (const char *word = text; *word;) {
        size_t length = strcspn(word, " ");
        if (word[length] == ' ' && word[length + 1] == '%') /* a number keeps its unit */
            length += 1 + strcspn(word + length + 1, " ");
        if (column > indent && column + 1 + (int)length > LINE_WIDTH) {
            sp_print(stream, "\n%*s", indent, "");
            column = indent;
        } else if (column > indent) {
            fputc(' ', stream);
            column++;
        }
        fwrite(word, 1, length, stream);
        column += (int)length;
        word += length;
        while (*word == ' ') word++;
    }
    fputc('\n', stream);
}

static void put_header(const sp_result *result, FILE *stream)
{
    sp_print(stream, "strutpress %s   seed %d   case ", sp_version(), result->request.flaw_seed);
    put_clean(stream, result->request.source[0] ? result->request.source : "(made by a program)");
    fputc('\n', stream);
}

/* A default that is written out in the case file is still the default. */
static void put_settings(const sp_case *request, FILE *stream)
{
    char value[TEXT_SIZE], usual[TEXT_SIZE];
    sp_case defaults;
    int changed = 0;
    sp_case_default(&defaults);
    for (int row = 0; row < sp_parameter_count(); row++) {
        sp_case_value_text(request, row, value, sizeof value);
        sp_case_value_text(&defaults, row, usual, sizeof usual);
        if (strcmp(value, usual) == 0) continue;
        sp_print(stream, "%s  %-*s ", changed++ ? "" : "\nsettings that differ from the defaults\n",
                 NAME_WIDTH, sp_parameter_at(row).key);
        put_clean(stream, value);
        fputs(request->origin[row] == SP_ORIGIN_DERIVED ? "  (derived)\n" : "\n", stream);
    }
    if (!changed) fputs("\nall settings are the defaults\n", stream);
}

static void put_network(const sp_result *result, FILE *stream)
{
    const sp_network *network = &result->network;
    char coupon[256];
    sp_coupon_text(result, coupon, sizeof coupon);
    fputs("\ncoupon     ", stream);
    put_clean(stream, coupon);
    sp_print(stream, "\nnetwork    %d struts, %d joints, solid fraction %.3g %%",
             network->strut_count, network->joint_count,
             100.0 * sp_finite(network->solid_fraction));
    if (network->cell_size > 0.0)
        sp_print(stream, ", cell size %.4g mm", sp_finite(network->cell_size));
    if (network->dropped_stubs + network->dropped_pieces > 0)
        sp_print(stream, ", left out %d short stubs and %d loose struts", network->dropped_stubs,
                 network->dropped_pieces);
    fputc('\n', stream);
}

static void put_buckles(const sp_result *result, FILE *stream)
{
    char words[512];
    fputs("\nfirst buckle\n  ", stream);
    put_wrapped(stream, 2, SP_CRITICAL_DEFINITION);
    sp_critical_text(&result->path, words, sizeof words);
    fputs("    -> ", stream);
    put_wrapped(stream, 7, words);
    fputs("  ", stream);
    put_wrapped(stream, 2, SP_BUCKLED_DEFINITION);
    sp_buckled_text(result, words, sizeof words);
    fputs("    -> ", stream);
    put_wrapped(stream, 7, words);
}

static void put_measures(const sp_result *result, FILE *stream)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    char number[SP_NUMBER_SIZE];
    fputs("\nmeasures\n", stream);
    for (int i = 0; i < count && i < result->measure_count; i++) {
        const sp_measure *got = &result->measure[i];
        if (got->reached && isfinite(got->value))
            sp_print(stream, "  %-*s %*s  %s\n", NAME_WIDTH, row[i].name, NUMBER_WIDTH,
                     sp_number(number, got->value, DIGITS), row[i].unit);
        else
            sp_print(stream, "  %-*s %*s\n", NAME_WIDTH, row[i].name, NUMBER_WIDTH, "not reached");
    }
}

static void put_end(const sp_result *result, FILE *stream)
{
    char lines[SP_CAUTION_MAX][SP_CAUTION_SIZE];
    int count = sp_cautions(result, lines);
    const sp_path *path = &result->path;
    sp_print(stream, "\nstopped    %s", sp_stop_text(path->stop));
    if (path->step_count > 0)
        sp_print(stream, " after %d steps, at %.4g %% strain", path->step_count - 1,
                 100.0 * sp_finite(sp_path_strain(path, path->step_count - 1)));
    fputs("\n\n", stream);
    for (int i = 0; i < count; i++) {
        fputs("caution: ", stream);
        put_wrapped(stream, 9, lines[i]);
    }
}

sp_status sp_write_table(sp_context *context, const sp_result *result, FILE *stream)
{
    put_header(result, stream);
    put_settings(&result->request, stream);
    put_network(result, stream);
    put_buckles(result, stream);
    put_measures(result, stream);
    put_end(result, stream);
    return sp_stream_end(context, stream);
}
