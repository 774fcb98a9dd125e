/* The page as it stands in its source files, taken into the program by the assembler. */
#include "report/part.h"
#include "report/report_parts.h"

#include <string.h>

#define PART(id, file) SP_PAGE_PART(sp_report_part_##id, file)

#define PART_ROWS(X)                                                                               \
    X(page_html, "src/study/report/page/page.html")                                                \
    X(page_css, "src/study/report/page/page.css")                                                  \
    X(tools_js, "src/study/report/page/tools.js")                                                  \
    X(table_js, "src/study/report/page/table.js")                                                  \
    X(curves_js, "src/study/report/page/curves.js")                                                \
    X(scatter_js, "src/study/report/page/scatter.js")                                              \
    X(states_js, "src/study/report/page/states.js")                                                \
    X(page_js, "src/study/report/page/page.js")                                                    \
    X(uplot_js, "src/study/report/page/uplot/uPlot.iife.min.js")                                   \
    X(uplot_css, "src/study/report/page/uplot/uPlot.min.css")                                      \
    X(uplot_licence, "src/study/report/page/uplot/LICENSE")

PART_ROWS(PART)

const char *sp_report_part(const char *name, size_t length)
{
    static const struct {
        const char *file, *text;
    } part[] = {
#define PART_ENTRY(id, file) {file, sp_report_part_##id},
        PART_ROWS(PART_ENTRY)
#undef PART_ENTRY
    };
    for (size_t i = 0; i < sizeof part / sizeof part[0]; i++) {
        const char *slash = strrchr(part[i].file, '/') + 1;
        if (strlen(slash) == length && !strncmp(slash, name, length)) return part[i].text;
    }
    return NULL;
}
