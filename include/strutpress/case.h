/* A case: what the user asks for, every value with its origin.
 *
 * Units: mm, N, MPa, mJ, g/cm3, degrees, fractions. Ownership: a case is a plain structure of the
 * caller, copied by assignment, with nothing to free. Errors: each function names its own; the
 * failure line says what was received and what would be valid. Threads: one case must not be
 * written by one thread while another uses it; else from any thread.
 *
 * The parameter rows (src/coupon/case/case_rows.h) drive parsing, defaults, ranges, units, `check`,
 * --help and docs/reference.md. */
#ifndef STRUTPRESS_CASE_H
#define STRUTPRESS_CASE_H

#include <stdio.h>

#include <strutpress/context.h>

SP_PUBLIC_BEGIN

#define SP_NAME_SIZE 48
#define SP_FILE_SIZE 1024
#define SP_LIST_MAX 6
#define SP_PARAMETER_MAX 128

enum { SP_PLANE_STRAIN = 0, SP_UNIAXIAL = 1 };
enum { SP_PLATENS_BONDED = 0, SP_PLATENS_SLIDING = 1, SP_PLATENS_FRICTION = 2 };
/* The sides of a block that is pressed in the place of a coupon. */
enum { SP_SIDES_FREE = 0, SP_SIDES_MIRROR = 1 };
/* The direction relative to the extrusion of a planar pattern. SP_PRESS_THROUGH presses along the
 * stack of separate layers. */
enum { SP_PRESS_ACROSS = 0, SP_PRESS_ALONG = 1, SP_PRESS_THROUGH = 2 };
enum { SP_PLATES_NONE = 0, SP_PLATES_GRILLAGE = 1 };

typedef struct sp_list {
    int count;
    double value[SP_LIST_MAX];
} sp_list;

typedef enum { SP_ORIGIN_DEFAULT, SP_ORIGIN_FILE, SP_ORIGIN_DERIVED } sp_origin;

typedef struct sp_case {
    char source[SP_FILE_SIZE]; /* the case file, "" when made by a program */
    /* coupon */
    double width, height, depth; /* [mm] */
    double flanks;   /* walls along the load: height of layers with round flanks, 0: flat [mm] */
    double skin;     /* walls along the load: thickness of the full layers on both faces [mm] */
    int block;       /* walls along the load: cells a side of the block that is pressed; 0: all */
    int block_sides; /* of that block: SP_SIDES_* */
    /* infill */
    char pattern[SP_NAME_SIZE]; /* name or alias of a pattern row */
    double density;             /* fraction, 0.01 .. 1 */
    double angle; /* [deg], turns the pattern counter-clockwise; NaN: that of the pattern */
    /* Shift of the pattern along its lattice vectors; z is for spatial ones. */
    double offset_x, offset_y, offset_z;
    double cell_angle; /* re-entrant: slanted struts against x [deg]; negative folds in */
    /* Re-entrant: upright / slanted length; bricks: length / height; wavy: wave length / rib
     * spacing. */
    double cell_ratio;
    double wave_height; /* wavy lines: amplitude / wave length */
    double regularity;  /* Voronoi: 0 random seeds .. 1 hexagon-like spacing */
    int cell_seed;      /* Voronoi: seed of the cells */
    /* spatial patterns */
    int cells_x, cells_y, cells_z;    /* whole cells across the coupon; 0: not given */
    double cell_size;                 /* of a cube cell [mm]; NaN: not given */
    double strut_diameter;            /* [mm]; NaN: not given */
    double diameter_offset;           /* printed less drawn [mm] */
    sp_list direction;                /* of the crystal that is pressed, three numbers */
    double turn;                      /* [deg], about the pressing direction */
    int face_plates;                  /* SP_PLATES_* */
    int side_frames;                  /* 1: struts along the edges of the coupon */
    char network_file[SP_FILE_SIZE];  /* pattern: drawn; resolved relative to the case file */
    char toolpath_file[SP_FILE_SIZE]; /* pattern: printed */
    double filament_diameter;         /* printed [mm] */
    double path_turn;                 /* printed: turns the path counter-clockwise [deg] */
    double path_gap;                  /* printed: gap that is closed, share of a bead */
    sp_list path_box, path_layers;    /* printed: x, y, x, y [mm]; first and last */
    int layers;                       /* planar patterns: 0 extruded, n layers through the depth */
    double layer_turn;                /* every other layer against the first [deg] */
    char layer_pattern[SP_NAME_SIZE]; /* of every other layer; "" the same */
    /* bead */
    double bead_width;   /* [mm] */
    double width_offset; /* printed less drawn [mm] */
    int wall_beads;      /* 0 .. 20 beads side by side in the perimeter wall */
    /* joint */
    double thickening;        /* thickness at the edge of a joint / of the strut */
    double thickening_length; /* the ends taper over this many thicknesses */
    /* material */
    char filament[SP_FILE_SIZE]; /* name of a filament, or its file; "": none */
    double reach;                /* strain that its data reach; infinity: not known */
    sp_list reach_rates; /* lowest and highest strain rate of its data [1/s]; none: not known */
    char law[SP_NAME_SIZE];
    double modulus;                /* small-strain Young's modulus E [MPa] */
    double shore_a, shore_d;       /* NaN when not given; hardness gives a modulus band */
    double poisson_ratio;          /* linear, yielding (below yield); the others: 0.5 */
    double c10, c01, c20, c30;     /* [MPa]; mooney-rivlin: c10 c01, yeoh: c10 c20 c30; NaN: none */
    sp_list ogden_modulus;         /* mu_i [MPa] */
    sp_list ogden_exponent;        /* alpha_i */
    double gent_limit;             /* J_m, largest I1 - 3 */
    char table_file[SP_FILE_SIZE]; /* CSV of strain, stress [MPa]; beside the case file */
    char table_compression[SP_FILE_SIZE]; /* the same of compression tests; "": none */
    sp_list table_rates;                  /* of the files of table_file [1/s] */
    double table_scale;                   /* stress / stress of the table */
    double rate;                          /* of the fibres [1/s]; NaN: press_speed / height */
    double softening_ratio, softening_energy, softening_share; /* NaN: none; [MPa]; - */
    double relaxation_exponent, relaxation_set;                /* NaN: not given */
    double relaxation_held, relaxation_free;                   /* of the set [s] */
    sp_list relaxation_shares, relaxation_times;               /* of the modulus; [s] */
    double relaxation_reference; /* [s]: the modulus is that of so long a test; infinity: at rest */
    double relaxation_shortest, relaxation_longest; /* branches of an exponent [s] */
    double flow_share, flow_stress, flow_time;      /* NaN: none; [MPa]; [s] */
    double second_flow_share, second_flow_stress, second_flow_time; /* likewise */
    int strain_state;      /* SP_PLANE_STRAIN (default for extruded patterns) or SP_UNIAXIAL */
    double across_layers;  /* walls along the load: modulus across the layers / along the bead */
    double solid_density;  /* [g/cm3], for the mass */
    double strut_friction; /* coefficient between struts */
    /* platens and press */
    int platens;            /* SP_PLATENS_* */
    double platen_friction; /* coefficient; also of what folds against bonded platens */
    /* SP_PRESS_*; along: the pattern lies in the plane of width and depth */
    int press_direction;
    double strain;               /* press to this nominal strain */
    double load_limit;           /* [N]; infinity: none */
    int steps;                   /* planned steps to `strain` */
    int unload;                  /* 1: then lift the platen until the coupon carries nothing */
    char protocol[SP_FILE_SIZE]; /* segments in words, or the name of a ready-made one; "": none */
    double press_speed;          /* [mm/min], of segments without a speed of their own */
    int find_critical;           /* 1: also press the coupon without flaws to its critical step */
    int branches;                /* 1: look for other stable states where folds begin */
    int seeds; /* of sp_run_seeds: flaw seeds that are pressed; 0: as many as take no long time */
    /* flaws (all stress free) */
    int flaw_seed;            /* 0: no flaws */
    double bow;               /* deviation of the bow amplitude / strut length */
    double thickness_scatter; /* deviation of thickness / thickness */
    double row_scatter;       /* deviation of thickness of a row of struts / thickness */
    double missing;           /* fraction of infill struts left out */
    double joint_offset;      /* deviation of joint positions / bead width */
    /* model */
    double joint_zone;      /* corners: 0.5 sharp, 1 round, 2 filled; 0 no zones; NaN: as printed */
    int elements_per_strut; /* 0: chosen from slenderness */
    int section_points;     /* quadrature points through the thickness, 2 .. 16 */
    /* Of contact points along a strut, over the thinnest strut; 0: chosen. */
    double contact_spacing;
    double shear_factor; /* struts in space: shear area / area; 0: of the section */

    unsigned char origin[SP_PARAMETER_MAX]; /* sp_origin per parameter row */
    int line[SP_PARAMETER_MAX];             /* line in the case file, 0 when not from it */
} sp_case;

/* Make the case in which every row has its default: it is valid. */
void sp_case_default(sp_case *request);
/* Make a case with the defaults that the caller frees, for programs that do not know its structure;
 * NULL without memory. */
sp_case *sp_case_new(void);
void sp_case_free(sp_case *request); /* accepts NULL */

/* Read and check a YAML case file. Errors: SP_NO_READ, SP_BAD_CASE ("file:line: ... received ...;
 * valid: ..."), SP_NO_MEMORY. On failure *request holds the defaults. */
sp_status sp_case_read(sp_context *context, const char *file, sp_case *request);
sp_status sp_case_parse(sp_context *context, const char *name, const char *text, size_t size,
                        sp_case *request);

/* Set one value as text ("infill.density" = "20 %") with the units and range of a file;
 * sp_case_check then checks rules that need more than one value. Errors: SP_BAD_CASE; *request is
 * unchanged then. */
sp_status sp_case_set(sp_context *context, sp_case *request, const char *key, const char *value);

/* Check that every value is in its range, however the members were set, and that friction does not
 * contradict how the platens hold. Called by sp_case_read and by sp_case_resolve (resolve.h), which
 * also checks names, walls, hardness and cells. Errors: SP_BAD_CASE. */
sp_status sp_case_check(sp_context *context, const sp_case *request);

/* Return 1 when the case asks for the block without holes: pattern solid, or a density of 100 %. */
#define SP_SOLID_NAME "solid"
#define SP_PRINTED_NAME "printed" /* what a tool path lays down */
int sp_case_is_solid(const sp_case *request);

/* Write the resolved case: one line per row with value, unit and origin; only non-default rows when
 * `only_changed`. */
void sp_case_print(const sp_case *request, int only_changed, FILE *stream);

/* This is one parameter row as text, for writers and the reference. */
typedef struct sp_parameter {
    const char *key;      /* "infill.density" */
    const char *unit;     /* "mm", "%", "deg", "MPa", "" */
    const char *doc;      /* one line */
    const char *range;    /* "0.01 .. 1", "bonded | sliding" */
    const char *fallback; /* default as text */
} sp_parameter;
int sp_parameter_count(void);
sp_parameter sp_parameter_at(int row);
/* Write the value of a row as text with its unit, "not given" when it is NaN or empty. */
void sp_case_value_text(const sp_case *request, int row, char *text, size_t size);

SP_PUBLIC_END

#endif
