/* From curves of one material at several rates, this file makes the one at the rate of the press,
 * between the two nearest (docs/theory.md, E194). */
#include "table/table_file.h"

#include <math.h>

#include "base/alloc.h"
#include "case/case_parts.h"

enum { CURVES_MAX = SP_LIST_MAX };

double sp_table_rate(const sp_case *request)
{
    if (request->rate > 0) return request->rate;
    return request->press_speed / 60 / request->height;
}

/* Find the two curves on either side of the rate, and how far the rate lies between them on the
 * scale of its logarithm; where it lies beyond all curves, both are the nearest one. */
static double find_two(const double *rate, int count, double wanted, int two[2])
{
    int slow = -1, fast = -1;
    for (int i = 0; i < count; i++) {
        if (rate[i] <= wanted && (slow < 0 || rate[i] > rate[slow])) slow = i;
        if (rate[i] >= wanted && (fast < 0 || rate[i] < rate[fast])) fast = i;
    }
    two[0] = slow < 0 ? fast : slow;
    two[1] = fast < 0 ? slow : fast;
    return two[0] == two[1] ? 0 : log(wanted / rate[two[0]]) / log(rate[two[1]] / rate[two[0]]);
}

/* Return the stress of sorted rows at a strain, straight between them and the unloaded state;
 * *inside is 0 beyond them. */
static double stress_at(const sp_table_rows *rows, double strain, int *inside)
{
    double x[2] = {0, 0}, y[2] = {0, 0};
    for (int i = 0; i < rows->count; i++) {
        const sp_table_row *row = &rows->row[i];
        if (strain > 0 ? row->strain <= 0 : row->strain >= 0) continue;
        if (strain > 0 ? row->strain >= strain : row->strain <= strain) {
            const int nearer = x[1] == 0 || fabs(row->strain) < fabs(x[1]);
            if (nearer) x[1] = row->strain, y[1] = row->stress;
        } else if (fabs(row->strain) > fabs(x[0])) {
            x[0] = row->strain, y[0] = row->stress;
        }
    }
    if (x[1] == 0) *inside = 0;
    return x[1] == 0 ? 0 : y[0] + (strain - x[0]) / (x[1] - x[0]) * (y[1] - y[0]);
}

/* Make rows at every strain of either curve that both reach. E194 */
static sp_status mix(sp_context *context, const sp_table_rows *slow, const sp_table_rows *fast,
                     double share, sp_table_rows *out)
{
    const sp_table_rows *from[2] = {slow, fast};
    sp_status status = SP_OK;
    for (int k = 0; k < 2; k++)
        for (int i = 0; status == SP_OK && i < from[k]->count; i++) {
            const double strain = from[k]->row[i].strain;
            int inside = 1;
            double a = 0, b = 0;
            if (strain != 0) {
                a = stress_at(slow, strain, &inside);
                b = stress_at(fast, strain, &inside);
            }
            if (inside) status = sp_table_add(context, out, strain, a + share * (b - a), 0);
        }
    return status;
}

/* Make one row of two at the same strain, one of either curve. */
static void drop_doubles(sp_table_rows *rows)
{
    int kept = 0;
    for (int i = 0; i < rows->count; i++)
        if (kept == 0 || rows->row[i].strain - rows->row[kept - 1].strain > 1e-9)
            rows->row[kept++] = rows->row[i];
    rows->count = kept;
}

static sp_status read_sorted(sp_context *context, const char *file, sp_table_rows *rows)
{
    const sp_status status = sp_table_read(context, file, &sp_strain_stress, rows);
    return status == SP_OK ? sp_table_sort(context, file, rows) : status;
}

static sp_status mix_two(sp_context *context, const sp_case *request, const char *key,
                         const double *rate, int count, char (*name)[SP_FILE_SIZE],
                         sp_table_rows *rows)
{
    sp_table_rows curve[2] = {{0}, {0}};
    int two[2];
    const double wanted = sp_table_rate(request), share = find_two(rate, count, wanted, two);
    if (two[0] == two[1]) {
        sp_warn(context,
                "the fibres are taken to be strained at %.3g /s; %s has no curve %s "
                "that, the one at %.3g /s is taken",
                wanted, key, wanted > rate[two[0]] ? "as fast as" : "as slow as", rate[two[0]]);
        return read_sorted(context, name[two[0]], rows);
    }
    sp_status status = read_sorted(context, name[two[0]], &curve[0]);
    if (status == SP_OK) status = read_sorted(context, name[two[1]], &curve[1]);
    if (status == SP_OK) status = mix(context, &curve[0], &curve[1], share, rows);
    if (status == SP_OK) status = sp_table_sort(context, name[two[0]], rows);
    if (status == SP_OK) drop_doubles(rows);
    for (int k = 0; k < 2; k++) sp_table_free(&curve[k]);
    return status;
}

sp_status sp_table_at_rate(sp_context *context, const sp_case *request, const char *key,
                           const char *files, sp_table_rows *rows)
{
    char(*name)[SP_FILE_SIZE] = sp_alloc(CURVES_MAX, sizeof *name);
    int count = 0, found = 1;
    if (!name) return sp_fail(context, SP_NO_MEMORY, "no memory for the names of tables");
    while (count < CURVES_MAX && (found = sp_case_table_name(files, count, name[count])) > 0)
        count++;
    const sp_list *rates = &request->table_rates;
    sp_status status = SP_OK;
    if (found < 0)
        status = sp_fail(context, SP_BAD_CASE,
                         "%s: received a name that is too long; valid: fewer than %d characters",
                         key, SP_FILE_SIZE);
    else if (count == 1 && (rates->count == 0 || files == request->table_compression))
        status = read_sorted(context, name[0], rows);
    else if (rates->count != count)
        status = sp_fail(context, SP_BAD_CASE,
                         "%s: received %d files and %d rates; valid: one rate of "
                         "material.table_rates for every file (up to %d, with ; between files)",
                         key, count, rates->count, CURVES_MAX);
    else
        status = mix_two(context, request, key, rates->value, count, name, rows);
    sp_free(name);
    return status;
}
