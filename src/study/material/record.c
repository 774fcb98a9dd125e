/* Read records of a test machine: time, strain and stress, thinned to the points that carry
 * information. */
#include <math.h>
#include <string.h>

#include <strutpress/case.h>

#include "base/alloc.h"
#include "case/case_parts.h"
#include "columns/plain.h"
#include "material/material_parts.h"

enum { COLUMNS_MAX = 32, LINE_SIZE = 1024, ROWS_MAX = 2000000 };
static const double strain_most = 4, strain_least = -0.9; /* nominal */
static const double still = 1e-3;                         /* of the largest strain */
/* A specimen that carries stress of the other side, as a share of the peak. */
static const double carries = 0.05;

static sp_status grow(sp_context *context, mat_test *test, int capacity)
{
    double **const all[] = {&test->time, &test->strain, &test->stress};
    for (int i = 0; i < 3; i++) {
        double *grown = sp_resize(*all[i], (size_t)capacity, sizeof(double));
        if (!grown) return sp_fail(context, SP_NO_MEMORY, "no memory for a record");
        *all[i] = grown;
    }
    test->capacity = capacity;
    return SP_OK;
}

static sp_status add(sp_context *context, mat_test *test, double time, double strain, double stress)
{
    if (test->count == test->capacity) {
        const sp_status status = grow(context, test, 2 * test->capacity + 256);
        if (status != SP_OK) return status;
    }
    test->time[test->count] = time;
    test->strain[test->count] = strain;
    test->stress[test->count++] = stress;
    return SP_OK;
}

void sp_material_record_free(mat_test *test)
{
    sp_free(test->time);
    sp_free(test->strain);
    sp_free(test->stress);
    test->time = test->strain = test->stress = NULL;
    test->count = test->capacity = 0;
}

static sp_status take_row(sp_context *context, const char *file, int line, const double value[3],
                          int compression, mat_test *test)
{
    const double sign = compression ? -1 : 1, strain = sign * value[1], stress = sign * value[2];
    if (!isfinite(value[0] + strain + stress) || strain <= strain_least || strain > strain_most)
        return sp_fail(context, SP_NO_READ,
                       "%s:%d: received time %g s, strain %g, stress %g MPa; valid: finite "
                       "numbers, strains from -0.9 to 4 (fractions, not %%)",
                       file, line, value[0], value[1], value[2]);
    if (test->count && value[0] < test->time[test->count - 1])
        return sp_fail(context, SP_NO_READ,
                       "%s:%d: received time %g s after %g s; valid: times that do not fall", file,
                       line, value[0], test->time[test->count - 1]);
    if (test->count == ROWS_MAX)
        return sp_fail(context, SP_NO_READ, "%s:%d: received more rows; valid: at most %d", file,
                       line, ROWS_MAX);
    return add(context, test, value[0], log1p(strain), stress * (1 + strain));
}

/* Read one line into the record; the first that holds anything may be a head. */
static sp_status take_line(sp_context *context, const char *file, int number, const char *line,
                           const int column[3], int compression, int *head_allowed, mat_test *test)
{
    double all[COLUMNS_MAX];
    const char *end;
    const int most = (int)fmax(column[0], fmax(column[1], column[2]));
    const int is_head = *head_allowed && sp_plain_is_head(line);
    if (!*line) return SP_OK;
    *head_allowed = 0;
    if (is_head) return SP_OK;
    const int count = sp_plain_numbers(line, COLUMNS_MAX, all, &end);
    if (count >= most)
        return take_row(context, file, number,
                        (double[]){all[column[0] - 1], all[column[1] - 1], all[column[2] - 1]},
                        compression, test);
    return sp_fail(context, SP_NO_READ,
                   "%s:%d: received %d numbers; valid: at least %d, with decimal points, of which "
                   "columns %d, %d, %d are time [s], strain and stress [MPa]",
                   file, number, count, most, column[0], column[1], column[2]);
}

static sp_status read_rows(sp_context *context, const char *file, const char *text, size_t size,
                           const int column[3], int compression, mat_test *test)
{
    sp_status status = SP_OK;
    int number = 0, head_allowed = 1;
    for (size_t at = 0; status == SP_OK && at < size;) {
        char line[LINE_SIZE];
        const char *end = memchr(text + at, '\n', size - at);
        const size_t length = end ? (size_t)(end - text) - at : size - at;
        number++;
        if (length >= sizeof line || memchr(text + at, 0, length))
            return sp_fail(context, SP_NO_READ,
                           "%s:%d: received a line of %zu bytes; valid: lines of text of at most "
                           "%d",
                           file, number, length, LINE_SIZE - 1);
        memcpy(line, text + at, length);
        line[length] = '\0';
        status = take_line(context, file, number, sp_plain_trim(line, number), column, compression,
                           &head_allowed, test);
        at += length + 1;
    }
    return status;
}

/* Keep the points at which strain, stress or the logarithm of time has changed enough. */
static void thin(mat_test *test)
{
    int kept = 0, furthest = 0, strongest = 0;
    const int count = test->count;
    for (int k = 0; k < count; k++) {
        if (fabs(test->strain[k]) > fabs(test->strain[furthest])) furthest = k;
        if (fabs(test->stress[k]) > fabs(test->stress[strongest])) strongest = k;
    }
    const double strain = fabs(test->strain[furthest]), stress = fabs(test->stress[strongest]);
    for (int k = 0; k < count; k++) {
        const int last = kept ? kept - 1 : 0;
        const double moved = fabs(test->strain[k] - test->strain[last]) / strain +
                             fabs(test->stress[k] - test->stress[last]) / stress +
                             (test->time[k] > 0 ? 1 - test->time[last] / test->time[k] : 0);
        const int stays = k == 0 || k + 1 == count || k == furthest || k == strongest;
        if (!stays && moved * MAT_POINTS < 4) continue;
        test->time[kept] = test->time[k];
        test->strain[kept] = test->strain[k];
        test->stress[kept++] = test->stress[k];
    }
    test->count = kept;
}

/* Find peak, rate and hold of a record, and whether it goes back. */
static void describe(mat_test *test)
{
    double low = INFINITY;
    for (int k = 0; k < test->count; k++) {
        test->peak = fmax(test->peak, fabs(test->stress[k]));
        if (fabs(test->strain[k]) > fabs(test->strain[test->deepest]) * (1 + still))
            test->deepest = k;
    }
    const double far = fabs(test->strain[test->deepest]);
    for (int k = test->deepest; k < test->count; k++) {
        low = fmin(low, fabs(test->strain[k]));
        test->passes |= test->strain[k] * test->strain[test->deepest] < -0.1 * far * far;
    }
    test->turns = low < 0.9 * far;
    test->rate = far / fmax(test->time[test->deepest] - test->time[0], 1e-9);
    int from = 0;
    for (int k = 1; k < test->count; k++) {
        if (fabs(test->strain[k] - test->strain[from]) > still * far) from = k;
        test->held = fmax(test->held, test->time[k] - test->time[from]);
    }
}

/* E274: on the way back from strains of one side, the stress may turn to the other side. A clamped
 * specimen then carries it until it buckles, where the stress is largest; one that is only touched
 * is slack or left alone, and carries next to nothing. */
int sp_material_counts(const mat_test *test, int point)
{
    const double *stress = test->stress, side = stress[test->deepest];
    if (point < test->scored) return 0;
    if (!test->turns || test->passes || point <= test->deepest || stress[point] * side > 0)
        return 1;
    int first = point, largest;
    while (first - 1 > test->deepest && stress[first - 1] * side <= 0) first--;
    largest = first;
    for (int k = first; k < test->count && stress[k] * side <= 0; k++)
        if (fabs(stress[k]) > fabs(stress[largest])) largest = k;
    return point <= largest && fabs(stress[largest]) > carries * test->peak;
}

sp_status sp_material_record_parse(sp_context *context, const char *file, const char *text,
                                   size_t size, const int column[3], int compression,
                                   mat_test *test)
{
    const sp_status status = read_rows(context, file, text, size, column, compression, test);
    if (status != SP_OK) return status;
    if (test->count) thin(test);
    if (test->count < 3)
        return sp_fail(context, SP_NO_READ,
                       "%s: received %d rows that differ; valid: at least 3 rows of time, strain "
                       "and stress",
                       file, test->count);
    describe(test);
    if (test->peak > 0 && fabs(test->strain[test->deepest]) > 1e-6) return SP_OK;
    return sp_fail(context, SP_NO_READ,
                   "%s: received a record without strain or without stress; valid: columns of time "
                   "[s], strain (a fraction) and stress [MPa], see `columns`",
                   file);
}

sp_status sp_material_record_read(sp_context *context, const char *file, const int column[3],
                                  int compression, mat_test *test)
{
    char *text;
    size_t size;
    sp_status status = sp_case_read_file(context, file, &text, &size);
    if (status == SP_OK)
        status = sp_material_record_parse(context, file, text, size, column, compression, test);
    sp_free(text);
    return status;
}

sp_status sp_material_record_set(sp_context *context, mat_test *test)
{
    static const double pressed_in = 10, let_go_in = 1, first = 0.1, growth = 1.3; /* [s], [-] */
    const double e = log1p(test->set_strain), left = log1p(test->set * test->set_strain);
    sp_status status = SP_OK;
    for (int i = 0; status == SP_OK && i <= 10; i++)
        status = add(context, test, pressed_in * i / 10, e * i / 10, 0);
    double at = pressed_in;
    for (double t = first; status == SP_OK && at < pressed_in + test->set_held; t *= growth) {
        at = fmin(at + t, pressed_in + test->set_held);
        status = add(context, test, at, e, 0);
    }
    const double go = at;
    if (status == SP_OK) status = add(context, test, go + let_go_in, left, 0);
    for (double t = let_go_in; status == SP_OK && at < go + test->set_free; t *= growth) {
        at = fmin(fmax(at, go + let_go_in) + t, go + test->set_free);
        status = add(context, test, at, left, 0);
    }
    test->scored = test->count - 1;
    test->held = test->set_held;
    test->rate = fabs(e) / pressed_in;
    return status;
}
