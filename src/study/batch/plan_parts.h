/* The inside of a plan. */
#ifndef SP_BATCH_PLAN_PARTS_H
#define SP_BATCH_PLAN_PARTS_H

#include <yaml.h>

#include <strutpress/batch.h>

enum { AXIS_MAX = 16, AXIS_KEYS = 8, FILTER_MAX = 64, ALTERNATIVE_MAX = 8, COUPON_MAX = 1000000 };

/* Keys that change together, and the values that they change to. */
typedef struct plan_axis {
    int key_count, value_count, capacity;
    char key[AXIS_KEYS][2 * SP_NAME_SIZE];
    char **text; /* key_count per value */
    int *line;   /* 1 per value, in the plan */
} plan_axis;

typedef enum { OP_LESS, OP_LESS_EQUAL, OP_EQUAL, OP_NOT_EQUAL, OP_MORE_EQUAL, OP_MORE } plan_op;

typedef struct plan_comparison {
    int row;
    plan_op op;
    sp_case value; /* holds the value in its row */
} plan_comparison;

/* A condition holds when one of its comparisons holds. */
typedef struct plan_filter {
    int count;
    plan_comparison *comparison;
} plan_filter;

struct sp_plan {
    sp_case base;
    const sp_case *given; /* total: the coupons of a list, which belongs to the caller; else NULL */
    int axis_count;
    plan_axis axis[AXIS_MAX];
    int filter_count;
    plan_filter filter[FILTER_MAX];
    int total;  /* combinations before the filters */
    int kept;   /* after them */
    int count;  /* of these, in the share of the plan */
    int *place; /* count: number of the combination */
    /* Count: number of the coupon in the whole plan, from 1; NULL when this is the whole plan. */
    int *number;
};

/* Make a plan of a list of cases; they must stay while it is used. SP_NO_MEMORY. */
sp_status sp_plan_of_cases(sp_context *context, const sp_case *request, int count, sp_plan **plan);

/* One coupon to press. */
typedef struct plan_job {
    int index;    /* in the plan */
    double work;  /* expected processor time [s] */
    double bytes; /* expected memory */
    char key[SP_KEY_SIZE];
} plan_job;

/* List the coupons of a plan, each of equal ones once, those with the most work first; *job is
 * freed with sp_free. SP_NO_MEMORY. */
sp_status sp_plan_list_jobs(sp_context *context, const sp_plan *plan, plan_job **job, int *count);

/* List the same coupons in the order of the plan. */
void sp_plan_sort_jobs(plan_job *job, int count);

typedef struct plan_reader {
    sp_context *context;
    const char *source;
    sp_plan *plan;
    yaml_document_t document;
    const char *axes_name; /* what the file calls its axes, for messages */
    void *user;            /* for parts that belong to another room */
} plan_reader;

/* One part at the top of a file; parts are read in the order of their rows, wherever they stand. */
typedef struct plan_part {
    const char *name;
    sp_status (*read)(plan_reader *r, const yaml_node_t *node);
} plan_part;

/* Read a file made of these parts; the first two must be those of base and case, in a file that has
 * one. Errors as for sp_plan_parse. */
sp_status sp_plan_parse_parts(sp_context *context, const char *name, const char *text, size_t size,
                              const plan_part *part, int part_count, const char *axes_name,
                              void *user, sp_plan **plan);
sp_status sp_plan_read_base(plan_reader *r, const yaml_node_t *node);
sp_status sp_plan_read_case(plan_reader *r, const yaml_node_t *node);

int sp_plan_line(const yaml_node_t *node);
const yaml_node_t *sp_plan_node(plan_reader *r, int index);
/* Resolve the name of a file relative to the file that is read; `what` would be valid. */
sp_status sp_plan_file(plan_reader *r, const yaml_node_t *node, const char *key, const char *what,
                       char file[SP_FILE_SIZE]);
/* Read a whole number 1 .. most. */
sp_status sp_plan_read_count(plan_reader *r, const yaml_node_t *node, const char *key, int most,
                             int *count);
/* Read one of `count` words; *choice is its place among them. */
sp_status sp_plan_read_word(plan_reader *r, const yaml_node_t *node, const char *key,
                            const char *const *word, int count, const char *valid, int *choice);
/* Find the values of a mapping by name, into found[count] (NULL before); names that are not among
 * them are refused. */
sp_status sp_plan_read_mapping(plan_reader *r, const yaml_node_t *node, const char *key,
                               const char *const *name, int count, const char *valid,
                               const yaml_node_t **found);
sp_status sp_plan_refuse(plan_reader *r, const yaml_node_t *node, const char *key,
                         const char *received, const char *valid, const char *nearest);
/* Return the text of a scalar; for a list or a mapping, say in words what stands there. */
const char *sp_plan_text(const yaml_node_t *node);
/* Copy a scalar, or a list of scalars joined with ", ", into a text that the plan owns. */
sp_status sp_plan_copy_value(plan_reader *r, const yaml_node_t *node, const char *key, char **copy);

sp_status sp_plan_read_axes(plan_reader *r, const yaml_node_t *node);
/* Refuse a key that an axis sets already, by this name or by one that stands for several keys. */
sp_status sp_plan_check_key(plan_reader *r, const yaml_node_t *node, const char *key);
/* Refuse a row of a case that the same list of `key: value` has set before: given[row] counts. */
sp_status sp_plan_check_given(plan_reader *r, const yaml_node_t *node, const char *key,
                              int given[SP_PARAMETER_MAX]);
/* Read one end of a range, and check it against its row. */
sp_status sp_plan_range_end(plan_reader *r, const char *key, const yaml_node_t *node,
                            double *value);
/* Return the number in a NUMBER or INTEGER row of a case. */
double sp_plan_read_number(const sp_case *request, int row);
sp_status sp_plan_read_seeds(plan_reader *r, const yaml_node_t *node);
/* Read at most `most` flaw seeds; *count is their number. */
sp_status sp_plan_read_few_seeds(plan_reader *r, const yaml_node_t *node, int most, int *count);
sp_status sp_plan_read_filters(plan_reader *r, const yaml_node_t *node);
int sp_plan_keeps(const sp_plan *plan, const sp_case *request);

#endif
