/* One row per writer: function sp_writer_<id> in its own file, name, file inside the output folder,
 * one line, what it takes. The VTU series is not a row: it has as many files as there are kept
 * states (vtu_series.h). */
#ifndef SP_WRITER_WRITER_LIST_H
#define SP_WRITER_WRITER_LIST_H

#include <strutpress/write.h>

#include "run/result.h"

#define SP_WRITER_LIST(X)                                                                          \
    X(curve_csv, "curve-csv", "curve.csv", "the curve, one line per accepted state", 0)            \
    X(result_json, "result-json", "result.json", "settings, measures, first buckle and events", 0) \
    X(network_svg, "network-svg", "network.svg", "picture of the unloaded network, to scale",      \
      SP_WRITER_NETWORK)                                                                           \
    X(network_vtk, "network-vtk", "network.vtk",                                                   \
      "the unloaded network as lines with thickness or diameter",                                  \
      SP_WRITER_NETWORK | SP_WRITER_STRUTS)                                                        \
    X(network_3mf, "network-3mf", "network.3mf",                                                   \
      "the unloaded coupon without flaws as triangles, a spatial one with its struts as beams",    \
      SP_WRITER_NETWORK)                                                                           \
    X(states_svg, "states-svg", "states.svg", "deformed states, coloured by fibre strain", 0)      \
    X(film_svg, "film-svg", "film.svg", "the press as a moving picture beside its curve", 0)       \
    X(mode_svg, "mode-svg", "mode.svg", "the critical step and its mode", SP_WRITER_STRUTS)        \
    X(curve_svg, "curve-svg", "curve.svg", "the curve with plateau, densification and buckling",   \
      0)                                                                                           \
    X(time_svg, "time-svg", "time.svg", "a press in time: cycles, holds, rests", SP_WRITER_TIME)

#define SP_WRITER_DECLARE(id, name, file, doc, takes)                                              \
    sp_status sp_writer_##id(sp_context *context, const sp_result *result, FILE *stream);
SP_WRITER_LIST(SP_WRITER_DECLARE)
#undef SP_WRITER_DECLARE

#endif
