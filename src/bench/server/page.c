/* The page as it stands in its source files, taken into the program by the assembler. */
#include "server/page.h"

#include <string.h>

#include "report/part.h"
#include "report/report_parts.h"

#define PART(id, file) SP_PAGE_PART(sp_bench_part_##id, file)

#define PART_ROWS(X)                                                                               \
    X(index_html, "src/bench/page/index.html")                                                     \
    X(bench_css, "src/bench/page/bench.css")                                                       \
    X(bench_js, "src/bench/page/bench.js")                                                         \
    X(tools_js, "src/bench/page/tools.js")                                                         \
    X(talk_js, "src/bench/page/talk.js")                                                           \
    X(frames_js, "src/bench/page/frames.js")                                                       \
    X(drawing_js, "src/bench/page/drawing.js")                                                     \
    X(curves_js, "src/bench/page/curves.js")                                                       \
    X(form_js, "src/bench/places/form.js")                                                         \
    X(press_js, "src/bench/places/press.js")                                                       \
    X(shelf_js, "src/bench/places/shelf.js")                                                       \
    X(table_js, "src/bench/places/table.js")                                                       \
    X(beside_js, "src/bench/places/beside.js")                                                     \
    X(between_js, "src/bench/places/between.js")                                                   \
    X(choose_js, "src/bench/places/choose.js")

PART_ROWS(PART)

static const char *type_of(const char *name)
{
    const char *ending = strrchr(name, '.');
    return !ending                   ? "text/plain"
           : !strcmp(ending, ".js")  ? "text/javascript; charset=utf-8"
           : !strcmp(ending, ".css") ? "text/css; charset=utf-8"
                                     : "text/html; charset=utf-8";
}

const char *sp_page_part(const char *name, const char **type, size_t *size)
{
    static const struct {
        const char *file, *text;
    } part[] = {
#define PART_ENTRY(id, file) {file, sp_bench_part_##id},
        PART_ROWS(PART_ENTRY)
#undef PART_ENTRY
    };
    /* The chart library is that of the report page. */
    const char *text = strncmp(name, "uPlot.", 6) == 0 ? sp_report_part(name, strlen(name)) : NULL;
    for (size_t i = 0; i < sizeof part / sizeof part[0] && !text; i++)
        if (!strcmp(strrchr(part[i].file, '/') + 1, name)) text = part[i].text;
    *type = type_of(name);
    *size = text ? strlen(text) : 0;
    return text;
}
