/* What the picture of the curve and its key share. */
#ifndef SP_PICTURE_CURVE_PLOT_H
#define SP_PICTURE_CURVE_PLOT_H

#include "run/result.h"

#include "write/svg.h"

#define CURVE_PICTURE_WIDTH 1000.0
#define CURVE_LEFT 92.0
#define CURVE_LETTER 14.0
#define CURVE_KEY_MAX 16
#define CURVE_PLATEAU_FROM 0.20 /* the interval of measure plateau_stress */
#define CURVE_PLATEAU_TO 0.40
#define CURVE_PLATEAU_RISE 1.3 /* of measure plateau_end */

typedef enum {
    MARK_CURVE,
    MARK_BACK,
    MARK_PERFECT,
    MARK_SOLID,
    MARK_SOLID_SLIDING,
    MARK_BAND,
    MARK_SEEDS,
    MARK_BRANCHES,
    MARK_PLATEAU,
    MARK_PLATEAU_END,
    MARK_DENSIFICATION,
    MARK_CRITICAL,
    MARK_BUCKLED,
    MARK_SNAP,
    MARK_NONE
} mark_kind;

typedef struct key_line {
    mark_kind mark;
    char text[320];
} key_line;

typedef struct curve_plot {
    sp_svg svg;
    const sp_result *result;
    double area;                   /* loaded face [mm2] */
    double strain_end;             /* of the strain axis */
    double stress_low, stress_end; /* of the stress axis [MPa] */
    sp_measure plateau, plateau_end, densification, efficiency, first_maximum;
    sp_measure set, kept; /* set_strain, energy_kept */
    int key_count;
    key_line key[CURVE_KEY_MAX];
} curve_plot;

/* Fill plot->key; the axes must be chosen before. */
void sp_curve_key_fill(curve_plot *plot);
double sp_curve_key_height(const curve_plot *plot);
void sp_curve_key_draw(curve_plot *plot, double top);

/* Draw the symbol of a mark, centred on (x, y); nothing for marks that are lines. */
void sp_curve_mark(sp_svg *svg, mark_kind mark, double x, double y);

#endif
