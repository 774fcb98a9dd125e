/* What the files of this room share. */
#ifndef SP_RIG_RIG_PARTS_H
#define SP_RIG_RIG_PARTS_H

#include <strutpress/rig.h>

#include "columns/columns.h"

enum { RIG_SPECIMEN_MAX = 64, RIG_CYCLE_MAX = 1000 };

/* Shortening and force, row by row. */
typedef struct rig_rows {
    int count;
    double *u, *f; /* [mm], [N]; owned */
} rig_rows;

/* The rows of one way down and the way back behind it, as indices of the raw rows. */
typedef struct rig_cycle {
    int from, top;   /* of the loading, the rows `from` to `top` */
    int end;         /* last row before the next cycle */
    double furthest; /* shortening at the top [mm] */
} rig_cycle;

typedef struct rig_specimen {
    char name[SP_COLUMN_TEXT_SIZE];
    sp_column travel, force; /* as the file has them */
    int first_line, last_line;
    int left_out;                        /* rows without shortening or force */
    int spikes;                          /* rows that jump away and back */
    double travel_sign, force_sign;      /* -1: pressing is negative in the file */
    rig_rows raw;                        /* pressing positive, spikes taken out, zero of the file */
    double noise, travel_noise;          /* standard deviation of force [N], of shortening [mm] */
    int cycle_count, cycles_more, cycle; /* cycle: index of the one that is taken */
    rig_cycle *all;                      /* cycle_count; owned */
    int pooled;                          /* rows that went back a little and were averaged */
    rig_rows curve;                      /* from zero on; the first point is at shortening 0 */
    double force_zero;                   /* taken off the force [N] */
    int air_rows;       /* rows before contact that give the force of the air; 0: none */
    double contact;     /* shortening of the file where contact begins; NaN: from the first row */
    sp_rig_zero zero;   /* how zero was found: never AUTO */
    double zero_at;     /* shortening of the file, without that of the machine, that is zero [mm] */
    double toe_slope;   /* of the steepest line of the start [N/mm]; NaN: none */
    double start_slope; /* at contact [N/mm] */
    double machine_share; /* largest shortening of the machine [mm] */
    /* 1: the start stiffens all the way, so that no straight part can be carried back. */
    int toe_open;
} rig_specimen;

struct sp_rig {
    char file[SP_FILE_SIZE];
    sp_rig_request request;
    const char *encoding;
    char delimiter, decimal;
    int line_count, row_count, grouped, missing, short_rows;
    int has_names;
    int is_strain, is_stress; /* 1: the curve is in fractions; in MPa */
    int is_guessed;           /* 1: the columns were chosen by how they run */
    int column_count;
    sp_column column[SP_COLUMN_MAX];
    int specimen_count, found_count; /* taken, and in the file */
    rig_specimen *specimen;          /* owned */
    rig_rows machine;                /* shortening over force of platen on platen; owned */
};

/* Find which columns and rows belong to which specimen: this fills names, columns, and raw rows as
 * the file has them. */
sp_status sp_rig_gather(sp_context *context, const sp_columns *columns, sp_rig *rig);

/* Put the signs right, take spikes out, measure the noise. */
sp_status sp_rig_clean(sp_context *context, const sp_rig *rig, rig_specimen *s);
/* Find the cycles, and take the loading of one of them into `curve`: shortenings that do not fall.
 */
sp_status sp_rig_take_loading(sp_context *context, const sp_rig *rig, rig_specimen *s);
/* Average rows whose shortening falls with those before them (pool adjacent violators: Ayer et al.
 * 1955, Ann. Math. Stat. 26, 641). Returns how many there were. */
int sp_rig_pool(rig_rows *rows);
/* Subtract the force of the air and the shortening of the machine, find zero, and cut off what
 * comes before it. */
sp_status sp_rig_put_zero(sp_context *context, const sp_rig *rig, rig_specimen *s);

sp_status sp_rig_rows_make(sp_context *context, const char *file, int count, rig_rows *rows);
void sp_rig_rows_free(rig_rows *rows);

/* Return the standard deviation of the noise on a smooth curve (E205); `room` holds as many
 * numbers. */
double sp_rig_noise(const double *value, int count, double *room);

/* Return the median of values, which are put in another order; NaN of none. */
double sp_rig_median(double *value, int count);

const char *sp_rig_travel_unit(const sp_rig *rig);
const char *sp_rig_force_unit(const sp_rig *rig);
/* Say in words and figures how zero was found. */
void sp_rig_zero_words(const sp_rig *rig, const rig_specimen *s, char *words, size_t size);
sp_status sp_rig_draw(sp_context *context, const sp_rig *rig, FILE *stream);

#endif
