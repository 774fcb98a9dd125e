/* The table of patterns and the growing list of pieces they emit. */
#include "pattern/parts.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#include "base/alloc.h"

static const sp_pattern_row pattern_row[] = {
#define SP_TILING(key, name, alias, doc, perfect, unit_edges, angle)                               \
    {name, alias, doc, perfect, unit_edges, angle, sp_##key##_line_density, sp_##key##_tiling,     \
     NULL, NULL},
#define SP_PATTERN(key, name, alias, doc, perfect, unit_edges, angle)                              \
    {name,                                                                                         \
     alias,                                                                                        \
     doc,                                                                                          \
     perfect,                                                                                      \
     unit_edges,                                                                                   \
     angle,                                                                                        \
     sp_##key##_line_density,                                                                      \
     NULL,                                                                                         \
     sp_##key##_lattice,                                                                           \
     sp_##key##_emit},
#include "pattern/pattern_list.h"
#undef SP_TILING
#undef SP_PATTERN
};

const sp_pattern_row *sp_pattern_rows(int *count)
{
    *count = (int)(sizeof pattern_row / sizeof *pattern_row);
    return pattern_row;
}

const sp_pattern_row *sp_pattern_find(const char *name_or_alias)
{
    int count;
    const sp_pattern_row *rows = sp_pattern_rows(&count);

    for (int i = 0; i < count; i++) {
        if (strcmp(rows[i].name, name_or_alias) == 0) return &rows[i];
        if (rows[i].alias[0] && strcmp(rows[i].alias, name_or_alias) == 0) return &rows[i];
    }
    return NULL;
}

sp_status sp_pattern_lattice(sp_context *context, const sp_pattern_row *row, const sp_case *request,
                             double vector[2][2])
{
    if (!row->tiling) {
        row->lattice(request, vector);
        return SP_OK;
    }
    sp_tiling tiling;
    const sp_status status = row->tiling(context, request, &tiling);
    memcpy(vector, tiling.basis, sizeof tiling.basis);
    return status;
}

sp_status sp_pattern_emit(sp_context *context, const sp_pattern_row *row, const sp_case *request,
                          double radius, sp_pieces *pieces)
{
    if (!row->tiling) return row->emit(context, request, radius, pieces);
    sp_tiling tiling;
    const sp_status status = row->tiling(context, request, &tiling);
    return status == SP_OK ? sp_tiling_emit(context, &tiling, radius, pieces) : status;
}

const char *sp_pattern_near(const char *word)
{
    static const char *const near_words[][2] = {
#define SP_NEAR_PATTERN(word, name) {word, name},
#include "pattern/near_list.h"
#undef SP_NEAR_PATTERN
    };
    for (size_t i = 0; i < sizeof near_words / sizeof *near_words; i++)
        if (!strcasecmp(near_words[i][0], word)) return near_words[i][1];
    return NULL;
}

double sp_pattern_angle(const sp_case *request)
{
    if (!isnan(request->angle)) return request->angle;
    const sp_pattern_row *row = sp_pattern_find(request->pattern);
    return row ? row->angle : 0;
}

sp_status sp_pieces_add(sp_context *context, sp_pieces *pieces, double xa, double ya, double xb,
                        double yb)
{
    double *grown = sp_grow(pieces->end, pieces->count, &pieces->capacity, 256, 4 * sizeof *grown);
    if (!grown)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d line pieces", pieces->count + 1);
    pieces->end = grown;
    double *end = pieces->end + 4 * (size_t)pieces->count++;
    end[0] = xa, end[1] = ya, end[2] = xb, end[3] = yb;
    return SP_OK;
}

void sp_pieces_free(sp_pieces *pieces)
{
    sp_free(pieces->end);
    *pieces = (sp_pieces){0};
}
