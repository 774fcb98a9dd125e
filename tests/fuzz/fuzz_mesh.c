/* This target runs the readers of files of triangles, STL and the models of 3MF: every refusal is
 * one line; an accepted file has finite figures within their bounds. */
#include <math.h>

#include <strutpress/mesh_file.h>

#include "fuzz.h"

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    static fuzz_file stl, package;
    sp_context context = {0};
    sp_mesh_figures f;
    const int packed = size >= 2 && data[0] == 'P' && data[1] == 'K';
    fuzz_file *file = packed ? &package : &stl;
    fuzz_put(file, packed ? ".3mf" : ".stl", data, size);
    const sp_status status = sp_mesh_read(&context, file->name, &f);
    require(status == SP_OK || status == SP_BAD_NETWORK || status == SP_NO_READ);
    require_line(context.message, status != SP_OK);
    if (status != SP_OK) return 0;
    require(f.triangles > 0 && f.corners >= 3 && f.parts > 0 && f.open_edges >= 0 && f.flat >= 0);
    require(f.open_edges ? isnan(f.volume) : isfinite(f.volume) && f.uncertain >= 0);
    for (int k = 0; k < 3; k++)
        require(f.low[k] >= -1e6 && f.high[k] <= 1e6 && f.low[k] <= f.high[k]);
    /* Rays find no more volume than the box holds. */
    if (f.uncertain > 0)
        require(f.volume <=
                1.01 * (f.high[0] - f.low[0]) * (f.high[1] - f.low[1]) * (f.high[2] - f.low[2]) +
                    f.uncertain);
    return 0;
}
