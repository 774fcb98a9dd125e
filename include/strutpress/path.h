/* The path of a press: accepted equilibrium states, events, and the shapes kept for pictures.
 *
 * Units: mm, N, MPa, mJ; strains are fractions. Ownership: a path of sp_result_path belongs to its
 * result and is not freed by the caller. Errors: the functions never fail. Threads: a path may be
 * read by several at once. */
#ifndef STRUTPRESS_PATH_H
#define STRUTPRESS_PATH_H

#include <strutpress/context.h>
#include <strutpress/protocol.h>

SP_PUBLIC_BEGIN

typedef struct sp_step {
    double shortening; /* platen travel since first touch [mm] */
    double force;      /* platen force, compression positive [N] */
    double stiffness;  /* d force / d shortening of the accepted tangent [N/mm] */
    double stored;     /* energy of struts and contacts, the dissipated part included [mJ] */
    double dissipated; /* part of it that yielding and friction dissipated up to here [mJ] */
    double work;       /* platen work up to here [mJ] */
    double released;   /* energy released at recorded snaps up to here [mJ] */
    double residual;   /* largest out-of-balance force on a free joint, re-computed [N] */
    /* sum of all forces of the platens on the coupon, friction included: the largest of the sums
     * along x, y and z, and of the sums of moments divided by the longest side [N] */
    double imbalance;
    double fibre_strain; /* largest |fibre strain| anywhere [-] */
    int contacts;        /* contact points that carry force */
    int iterations;      /* Newton iterations of this step, cut attempts included */
    int factorizations;  /* numeric factorizations of this step, cut attempts included */
    int negative_pivots; /* of the accepted tangent: 0 = stable */
    double time;         /* since the beginning [s]; 0 in a press without time */
    double mass_speed;   /* of a mass that falls on the coupon, downwards; else 0 [mm/s] */
    double softened, relaxed, flowed; /* of `dissipated`, by each way of a law in time [mJ] */
    double wall_force; /* of `force`: on perimeter walls that stand along the load, else 0 [N] */
} sp_step;

/* A member of sp_step, for programs that read steps without this header. */
typedef struct sp_step_column {
    const char *name, *unit; /* unit "" without */
    size_t offset;           /* bytes from the begin of a step */
    int is_whole;            /* 1: an int, 0: a double */
} sp_step_column;
/* List all members; *stride gets the bytes from one step to the next. */
const sp_step_column *sp_step_columns(int *count, size_t *stride);

/* This is one segment of a protocol, as it was followed. */
typedef struct sp_stage {
    sp_segment segment;
    int first, last; /* states, see sp_path_state: that it began from, and its last */
    int reached;     /* 1: it came to its end; 0: it is the last, and gave up on the way */
} sp_stage;

/* The note beside each kind says when it is recorded, and what `value` holds. */
#define SP_EVENT_ROWS(X)                                                                           \
    X(SP_EVENT_SNAP, "snap")                   /* a minimum disappeared; energy released [mJ] */   \
    X(SP_EVENT_BUCKLED_STRUT, "buckled strut") /* axial force / clamped Euler load */              \
    X(SP_EVENT_FIRST_CONTACT, "first contact")                                                     \
    X(SP_EVENT_CUT, "step cut") /* the step that failed [mm] */

typedef enum {
#define SP_EVENT_ENUM(code, text) code,
    SP_EVENT_ROWS(SP_EVENT_ENUM)
#undef SP_EVENT_ENUM
} sp_event_kind;

typedef struct sp_event {
    sp_event_kind kind;
    int step;     /* index into sp_path.step */
    int strut;    /* -1 when no single strut */
    double value; /* see the row of the kind */
} sp_event;

const char *sp_event_text(sp_event_kind kind);

/* How a path ends, with the exit status of the program. */
#define SP_STOP_ROWS(X)                                                                            \
    X(SP_STOP_STRAIN, 0, "target strain reached")                                                  \
    X(SP_STOP_LOAD, 0, "load limit reached")                                                       \
    X(SP_STOP_BOUNCED, 0, "the mass has bounced off")                                              \
    X(SP_STOP_CRITICAL, 0, "critical step found")                                                  \
    X(SP_STOP_RANGE, 8, "the model of the coupon ends there")                                      \
    X(SP_STOP_GAVE_UP, 8, "no convergence at the smallest step")                                   \
    X(SP_STOP_INTERRUPTED, 130, "interrupted")

typedef enum {
#define SP_STOP_ENUM(code, exit_status, text) code,
    SP_STOP_ROWS(SP_STOP_ENUM)
#undef SP_STOP_ENUM
} sp_stop;

const char *sp_stop_text(sp_stop stop);
int sp_stop_exit(sp_stop stop);
/* What a store keeps of an end as the outcome of its coupon: SP_OK, SP_GAVE_UP or
 * SP_INTERRUPTED. */
sp_status sp_stop_outcome(sp_stop stop);

/* How stability is lost, in a word and in a clause. */
#define SP_CRITICAL_ROWS(X)                                                                        \
    X(SP_CRITICAL_BIFURCATION, "bifurcation", "a second state branches off")                       \
    X(SP_CRITICAL_LIMIT_POINT, "limit point", "the state ends there")                              \
    X(SP_CRITICAL_LET_GO, "let-go", "a contact lets go and the coupon jumps")

typedef enum {
#define SP_CRITICAL_ENUM(code, word, text) code,
    SP_CRITICAL_ROWS(SP_CRITICAL_ENUM)
#undef SP_CRITICAL_ENUM
} sp_critical_kind;

const char *sp_critical_word(sp_critical_kind kind);
const char *sp_critical_clause(sp_critical_kind kind);

/* The critical step is where the tangent of the coupon WITHOUT flaws first stops being positive
 * definite. */
typedef struct sp_critical {
    int found;             /* 0: no instability up to `strain` */
    int untold;            /* 1: not known between `strain` and `strain_beyond` */
    int cut_short;         /* 1: the search was ended at `strain`, it had taken too long */
    sp_critical_kind kind; /* when found */
    double shortening;     /* [mm] */
    double strain;         /* nominal strain there, or the strain searched when not found */
    double strain_beyond;  /* nominal strain, when untold */
    double force;          /* [N] */
    int jumps;             /* jumps of single contacts that were passed on the way */
    double jump_released;  /* the most that one of them released [mJ] */
    int strut_count;       /* largest shares of the mode's bending energy first; up to 8 */
    int strut[8];          /* panels: numbers of panels */
    double share[8];
} sp_critical;

/* This is the first buckled strut of the coupon WITH flaws. */
typedef struct sp_buckled {
    /* 0: no strut passes a maximum of its compression, because the struts fold in bending */
    int found;
    int strut;
    int step;
    double strain;      /* nominal strain of the coupon */
    double strut_force; /* axial compression at its maximum [N] */
    double slenderness; /* free length / radius of gyration */
    double euler_ratio; /* strut_force / clamped Euler load of its free length */
} sp_buckled;

/* In shapes every strut is a polyline of points from joint centre to joint centre. */
typedef struct sp_shapes {
    int strut_count;
    int point_count;
    int *first_point;  /* strut_count + 1: strut s has first_point[s] .. first_point[s+1]-1 */
    double *thickness; /* strut_count [mm] */
    /* spatial, else NULL. strut_count: 0 round, else size of a rectangle across `thickness` [mm] */
    double *height;
    unsigned char *role;    /* strut_count, SP_ROLE_* */
    int sheet_count;        /* panels: cells of all of them, else 0 and NULL */
    struct sp_sheet *sheet; /* network.h */
    int frame_count;        /* kept states; frame 0 is unloaded */
    int back_frames;        /* of these, at the end: 1 after the way back, else 0 */
    int frame_capacity;
    int *frame_step;  /* frame_count: the step it belongs to, see sp_path_state */
    double *position; /* frame_count x point_count x 3 [mm] */
    /* frame_count x point_count: largest |fibre strain| of the piece from this point to the next (0
     * for the last point of a strut). */
    double *fibre_strain;
    double *mode;          /* point_count x 3, largest entry 1: critical mode, NULL when none */
    int mode_frame_step;   /* unused when mode is NULL */
    double *mode_position; /* point_count x 3: the critical state of the mode, or NULL [mm] */
} sp_shapes;

/* This is the solid block of the size and law of the coupon, in closed form (E84, E85). Outputs
 * state the forces of an infill as a share of its forces. */
#define SP_SOLID_STRAINS 96
typedef struct sp_solid_curve {
    int modelled;        /* 0: not for this law, nothing else is filled */
    double shape_factor; /* one loaded face / the four faces that are free to bulge */
    double raise;        /* force between bonded platens / between sliding ones, at any strain */
    int count;           /* strains 0, 1, .. count - 1 % */
    double force[SP_SOLID_STRAINS]; /* between sliding platens [N] */
} sp_solid_curve;

/* For a coupon that is the solid block: the platens (sliding or bonded) its path was computed
 * for. */
typedef enum { SP_BLOCK_NONE, SP_BLOCK_SLIDING, SP_BLOCK_BONDED } sp_block;

/* What the printed width of all lines or struts does to the force, by one derivative (E235). */
enum { SP_WIDTH_STRAINS = 3 }; /* 10, 25 and 40 % */
typedef struct sp_width_slope {
    double strain; /* nominal; of the first state at or beyond 10, 25, 40 %; 0: not reached [-] */
    double force;  /* there [N] */
    double slope;  /* dF/dw at this strain; NaN: not known [N/mm] */
    int snaps;     /* jumps before it: with another width they come at another strain */
} sp_width_slope;

typedef struct sp_width {
    double width;           /* mean printed width (diameter) of the struts; 0: not known [mm] */
    double stiffness;       /* first stiffness, before friction holds anything [N/mm] */
    double stiffness_slope; /* its derivative by the width; NaN: not known [N/mm2] */
    sp_width_slope force[SP_WIDTH_STRAINS];
} sp_width;

/* Other stable states that were looked for from one state of the press (E253 to E256). */
enum { SP_LOOKS_MAX = 24, SP_LOOK_POINTS = 8 };
typedef struct sp_look {
    double strain; /* nominal, of the state it was looked from [-] */
    int pushes;    /* along localised moves, each let go at the same shortening */
    int lost;      /* of these, pushes from which no equilibrium was found */
    int others;    /* different stable states that they ended in */
    int taken;     /* 1: one of them holds less energy, and the press went on from it */
    double gained; /* energy that it holds less, released there [mJ] */
    /* Where others were pressed on beside the press: forces at evenly spaced strains. */
    int points;
    double at[SP_LOOK_POINTS];                        /* nominal strain [-] */
    double low[SP_LOOK_POINTS], high[SP_LOOK_POINTS]; /* lowest and highest of the others [N] */
    double apart; /* largest difference to the press there, of its mean force there [-] */
} sp_look;

/* Branches of a press; all 0 unless they were asked for. */
typedef struct sp_branches {
    int searched;   /* 1: press.branches asked for it */
    int look_count; /* at most SP_LOOKS_MAX: later folds are not looked at */
    sp_look look[SP_LOOKS_MAX];
} sp_branches;

typedef struct sp_path {
    double size[3]; /* width, height, depth of the coupon [mm] */
    /* Of what the shapes show: of the block that was pressed in its place (coupon.block), else of
     * the coupon [mm]. */
    double pressed[3];
    int block; /* SP_BLOCK_*; the shapes of a block hold frames without points */
    sp_solid_curve solid;
    sp_width width;
    sp_branches branches;
    /* For a law of measured rows these are the largest and the smallest stretch of the rows, else
     * infinity and 0; then those that fibres came to in accepted states, on the outline of their
     * sections. */
    double rows_most, rows_least, fibre_most, fibre_least;
    int step_count;
    int step_capacity;
    sp_step *step; /* step[0] is the unloaded state */
    /* This is the way back from the last step, when asked for. The shortening falls; work and
     * stored energy continue from the press. */
    int back_count;
    int back_capacity;
    sp_step *back;
    /* 1: the last of these states carries nothing; with a protocol, its first release ends so. */
    int unloaded;
    /* A press in time: its segments. `step` is the first of them, `back` all that follows, in
     * whatever direction. */
    int stage_count;
    int read_cycle; /* see sp_protocol */
    sp_stage *stage;
    int event_count;
    int event_capacity;
    sp_event *event;
    sp_stop stop; /* of the way down, or of the first segment of a protocol */
    sp_stop end;  /* of the whole: `stop`, or SP_STOP_INTERRUPTED on what follows it */
    char reason[SP_MESSAGE_SIZE]; /* one line on an `end` before the target, else "" */
    sp_critical critical;
    sp_buckled buckled;
    sp_shapes shapes;
    int joint_count, strut_count, element_count, unknown_count;
    int analyses;           /* symbolic analyses */
    int factorizations;     /* numeric factorizations, all of the press */
    double seconds_total;   /* whole press */
    double seconds_solver;  /* inside CHOLMOD factor and solve */
    double seconds_factor;  /* of these, factor */
    double seconds_analyse; /* inside CHOLMOD analyse */
    /* These are the floating-point operations of the completed factorizations. */
    double factor_operations;
    double seconds_complete; /* inside CHOLMOD factor, of these */
} sp_path;

void sp_path_free(sp_path *path);

/* Return step `step`, where the numbers continue through the way back; NULL when there is no such
 * step. */
const sp_step *sp_path_state(const sp_path *path, int step);
/* Return the nominal strain, shortening/height, and the nominal stress, force/(width x depth)
 * [MPa], of a step. */
double sp_path_strain(const sp_path *path, int step);
double sp_path_stress(const sp_path *path, int step);

SP_PUBLIC_END

#endif
