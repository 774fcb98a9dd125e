/* Upright waves x = A sin(2 pi y / w), one per cell length, tied by straight level ribs one cell
 * length apart.
 *
 *   w = cell_ratio    wave length / rib spacing
 *   A = wave_height w amplitude
 *   m                 straight pieces of a wave from rib to rib: 8 or more per half wave, enough
 *                     that the crests turn smoothly, fewer where a piece would get shorter than a
 *                     bead, but at least the crests
 *
 * A wave meets a rib at a joint for every w: the pieces start again at each rib. */
#include <math.h>
#include <stdio.h>

#include "case/case_parts.h"
#include "pattern/parts.h"

static const int pieces_per_wave = 16;
/* angle between the pieces at a crest [rad]: less than the 20 deg of a joint */
static const double turn_max = 0.33;
static const int pieces_least = 4;      /* per wave: zero, crest, zero, trough */
static const double piece_beads = 1.25; /* shortest piece wanted [beads] */
/* The mean length of a wave without a period is taken over this many ribs. */
static const int ribs_averaged = 400;

static double wave(const sp_case *request, double y)
{
    double length = request->cell_ratio;
    return request->wave_height * length * sin(2 * M_PI * y / length);
}

/* Return the number of ribs after which the wave meets them in the same way again. */
static int period(const sp_case *request)
{
    for (int ribs = 1; ribs < ribs_averaged; ribs++) {
        double waves = ribs / request->cell_ratio;
        if (fabs(waves - nearbyint(waves)) < 1e-9) return ribs;
    }
    return ribs_averaged;
}

/* The lattice vectors: one wave across, and along it the ribs after which the wave meets them in
 * the same way again, or its length where it never does. */
void sp_wavy_lattice(const sp_case *request, double vector[2][2])
{
    const int ribs = period(request);
    vector[0][0] = 1, vector[0][1] = 0;
    vector[1][0] = 0, vector[1][1] = ribs < ribs_averaged ? ribs : request->cell_ratio;
}

/* Find the mean length of one wave from rib to rib in m pieces, and the shortest piece. */
static double wave_length(const sp_case *request, int m, double *shortest)
{
    int ribs = period(request);
    double total = 0;
    *shortest = INFINITY;
    for (int i = 0; i < ribs * m; i++) {
        double y = (double)i / m, next = (double)(i + 1) / m;
        double piece = hypot(wave(request, next) - wave(request, y), next - y);
        total += piece;
        *shortest = fmin(*shortest, piece);
    }
    return total / ribs;
}

static int piece_count(const sp_case *request)
{
    int least = (int)ceil(pieces_least / request->cell_ratio - 1e-9);
    /* The turn at a crest is the curvature A (2 pi / w)^2 times a piece w / pieces = 4 pi^2
     * wave_height / pieces. */
    double smooth = 4 * ceil(M_PI * M_PI * request->wave_height / turn_max);
    int m = (int)lround(fmax(pieces_per_wave, smooth) / request->cell_ratio);
    for (; m > least; m -= 1 + m / 16) {
        double shortest, length = wave_length(request, m, &shortest);
        double cell = (1 + length) * request->bead_width / request->density;
        if (shortest * cell >= piece_beads * request->bead_width) break;
    }
    return m > least ? m : least;
}

double sp_wavy_line_density(const sp_case *request)
{
    double shortest;
    return 1 + wave_length(request, piece_count(request), &shortest);
}

/* Where waves are steepest, neighbours are cos(slope) cells apart; that must exceed a bead. */
static sp_status check(sp_context *context, const sp_case *request)
{
    char text[160];
    double cell = sp_wavy_line_density(request) * request->bead_width / request->density;
    double beads = cell / request->bead_width, slope = 2 * M_PI * request->wave_height;
    if (beads > hypot(1, slope)) return SP_OK;
    snprintf(text, sizeof text, "less than %.4g at this density: steeper waves touch each other",
             beads > 1 ? sqrt(beads * beads - 1) / (2 * M_PI) : 0);
    return sp_case_fail_at(context, request, "infill.wave_height", NULL, text, NULL);
}

sp_status sp_wavy_emit(sp_context *context, const sp_case *request, double radius,
                       sp_pieces *pieces)
{
    int m = piece_count(request);
    double amplitude = request->wave_height * request->cell_ratio;
    int across = (int)ceil(radius + amplitude) + 1, ribs = (int)ceil(radius) + 1;
    sp_status status = check(context, request);
    if (status != SP_OK) return status;
    for (int i = -across; i <= across; i++)
        for (int k = -ribs * m; k < ribs * m; k++) {
            double y = (double)k / m, next = (double)(k + 1) / m;
            status = sp_pieces_add(context, pieces, i + wave(request, y), y,
                                   i + wave(request, next), next);
            if (status != SP_OK) return status;
        }
    for (int j = -ribs; j <= ribs; j++)
        for (int i = -across; i < across; i++) {
            double shift = wave(request, j);
            status = sp_pieces_add(context, pieces, i + shift, j, i + 1 + shift, j);
            if (status != SP_OK) return status;
        }
    return SP_OK;
}
