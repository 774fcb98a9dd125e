/* The inside of a fit of a material to tests of itself. */
#ifndef SP_MATERIAL_MATERIAL_PARTS_H
#define SP_MATERIAL_MATERIAL_PARTS_H

#include <strutpress/material.h>

enum {
    MAT_TEST_MAX = 24, /* fitted and predicted */
    MAT_NAME_SIZE = 80,
    MAT_POINTS = 100, /* a record is thinned to about this many */
    MAT_BRANCHES = 6, /* as many as a case takes */
    MAT_SHAPES = 8,   /* of the equilibrium curve, see sp_material_shape */
    MAT_LINEAR = MAT_SHAPES + MAT_BRANCHES + 1, /* and the flowing branch */
    MAT_SEARCH = 5                              /* values that are not linear */
};

/* One record of strain and stress over time. */
typedef struct mat_test {
    char name[MAT_NAME_SIZE];
    int fitted; /* 0: it is predicted */
    int count, capacity;
    /* Time [s], log strain and true stress [MPa], tension positive; owned. */
    double *time, *strain, *stress;
    int scored;  /* points from here on count; those before only lead to them */
    double peak; /* largest |stress| [MPa]; of a set, that of the other tests */
    int deepest; /* point of the largest |strain| */
    int turns;   /* 1: it goes back after that */
    double rate; /* of log strain up to there [1/s] */
    double held; /* longest time at one strain [s] */
    double set, set_strain, set_held, set_free; /* a compression set: -, -, [s], [s]; 0: a record */
} mat_test;

/* What is fitted. Equilibrium true stress: sum of shape[j] times sp_material_shape(j, e). */
typedef struct mat_model {
    double reach; /* largest |log strain| of the tests */
    double shape[MAT_SHAPES];
    int branch_count;
    double time[MAT_BRANCHES], branch[MAT_BRANCHES]; /* [s], [MPa] */
    double ratio, energy, share;                     /* softening, energy in MPa; ratio 0: none */
    double flow_stress, flow_stiffness, flow_time;   /* s [MPa], E/s [-], [s]; s 0: none */
    double search[MAT_SEARCH];                       /* where the search ended, each from 0 to 1 */
    double misfit;
} mat_model;

struct sp_material_tests {
    char source[SP_MATERIAL_FILE], name[MAT_NAME_SIZE];
    int count, fitted;
    mat_test test[MAT_TEST_MAX];
    int compression;    /* 1: numbers of the files are positive in compression */
    int softens, flows; /* -1: as the tests allow */
    int time_count;
    double time[MAT_BRANCHES]; /* [s]; none: decades */
};

struct sp_material {
    const sp_material_tests *tests;
    mat_model model;
    mat_model without[MAT_TEST_MAX]; /* each fitted test left out */
    int without_count;
    double law_misfit; /* of the law of the program that was written, from the fit; of the peak */
};

/* --- tests.c, record.c --- */

/* Read a record; column numbers from 1. SP_NO_READ with file:line, SP_NO_MEMORY. */
sp_status sp_material_record_read(sp_context *context, const char *file, const int column[3],
                                  int compression, mat_test *test);
sp_status sp_material_record_parse(sp_context *context, const char *file, const char *text,
                                   size_t size, const int column[3], int compression,
                                   mat_test *test);
/* A compression set as a record: pressed in 10 s, held, let go to what is left, where no stress may
 * remain. SP_NO_MEMORY. */
sp_status sp_material_record_set(sp_context *context, mat_test *test);
void sp_material_record_free(mat_test *test);

/* Lowest and highest strain rate of the fitted records [1/s]; infinity and 0: there is none. */
void sp_material_rates(const sp_material_tests *tests, double *slowest, double *fastest);

/* --- model.c --- */

/* A growing shape at log strain e, and its integral. */
double sp_material_shape(int j, double reach, double e, double *integral);
/* Equilibrium true stress, and its energy. */
double sp_material_equilibrium(const mat_model *model, double e, double *energy);
/* Answers of all linear parts at every point of a record: count x MAT_LINEAR. */
void sp_material_answers(const mat_model *model, const mat_test *test, double *rows);
/* Work out the true stress at every point of a record; `rows` is work space. */
void sp_material_stress(const mat_model *model, const mat_test *test, double *rows, double *stress);
/* Stiffness at no strain of the equilibrium curve, and of all together [MPa]. */
double sp_material_slow_modulus(const mat_model *model);
double sp_material_quick_modulus(const mat_model *model);
/* What a solid has left of a strain that was held and let go. */
double sp_material_set(const mat_model *model, double strain, double held, double free);

/* What a record shows: peak, share of the work that is not given back, strain left at no stress /
 * largest strain. NaN: not there. */
typedef struct mat_loop {
    double peak, loss, left;
} mat_loop;
mat_loop sp_material_loop(const mat_test *test, const double *stress);

/* --- fit.c --- */

/* The model of least misfit to all fitted tests but `left_out` (-1: all of them); branch times,
 * reach and, when `refines`, the search values are given. Returns the misfit: root mean square over
 * each test over its peak, all tests alike. SP_NO_MEMORY. */
sp_status sp_material_fit_model(sp_context *context, const sp_material_tests *tests, int left_out,
                                int refines, mat_model *model);
int sp_material_softens(const sp_material_tests *tests);
int sp_material_flows(const sp_material_tests *tests);

#endif
