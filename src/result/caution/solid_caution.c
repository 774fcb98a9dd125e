/* Say where the relation of the solid block ceases to hold (docs/theory.md, section 15). */
#include <math.h>

#include "caution/caution.h"
#include "caution/solid.h"
#include "write/text.h"

/* A tenth of the bulk modulus [MPa] of filaments (common practice, no source). */
static const double stiff_modulus = 200.0;
/* Sides of a loaded face up to which 2 S^2 is within 15 % (tests/test_solid.c). */
static const double strip_ratio = 3.0;
static const double tall_ratio = 2.0; /* height / smallest side (common practice, no source) */

static int both_ends(const sp_result *result, char line[SP_CAUTION_SIZE])
{
    const sp_solid_curve *solid = &result->path.solid;
    if (result->request.platens != SP_PLATENS_FRICTION || solid->count <= 25) return 0;
    sp_format(
        line, SP_CAUTION_SIZE,
        "Friction platens: the block lies between its sliding end (%.4g N at 25 %% strain) and "
        "its bonded end (%.4g N), whose figures these are.",
        sp_finite(sp_solid_force(solid, 25, 0)), sp_finite(sp_solid_force(solid, 25, 1)));
    return 1;
}

static int near_its_bulk(const sp_result *result, char line[SP_CAUTION_SIZE])
{
    const double *size = result->path.size;
    const double force = sp_solid_force(&result->path.solid, 1, 1);
    const double apparent = force / (0.01 * size[0] * size[2]);
    if (result->path.block != SP_BLOCK_BONDED || !(apparent > stiff_modulus)) return 0;
    sp_format(line, SP_CAUTION_SIZE,
              "Shape factor %.3g: the apparent modulus of %.3g MPa nears the bulk modulus of a "
              "filament (about 2000 MPa), which is not modelled: the block is softer.",
              result->path.solid.shape_factor, apparent);
    return 1;
}

static int strip(const sp_result *result, char line[SP_CAUTION_SIZE])
{
    const double *size = result->path.size;
    const double ratio = fmax(size[0], size[2]) / fmin(size[0], size[2]);
    if (result->path.block != SP_BLOCK_BONDED || !(ratio > strip_ratio)) return 0;
    sp_format(
        line, SP_CAUTION_SIZE,
        "The loaded face is %.3g times as long as it is wide: the relation of Gent & Lindley is "
        "for compact faces and overrates what bonding adds to a strip, by up to half.",
        ratio);
    return 1;
}

static int tall(const sp_result *result, char line[SP_CAUTION_SIZE])
{
    const double *size = result->path.size, ratio = size[1] / fmin(size[0], size[2]);
    if (!(ratio > tall_ratio)) return 0;
    sp_format(line, SP_CAUTION_SIZE,
              "The block is %.3g times as high as it is thick: it would buckle aside, which is not "
              "modelled.",
              ratio);
    return 1;
}

int sp_block_cautions(const sp_result *result, char lines[][SP_CAUTION_SIZE])
{
    int count = both_ends(result, lines[0]);
    count += near_its_bulk(result, lines[count]);
    count += strip(result, lines[count]);
    count += tall(result, lines[count]);
    return count;
}
