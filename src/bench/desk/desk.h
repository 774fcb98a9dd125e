/* The state of a bench: its folder, its store, and the presses and searches that wait, run and are
 * done. Everything here may be called from several threads. */
#ifndef SP_DESK_DESK_H
#define SP_DESK_DESK_H

#include <pthread.h>
#include <signal.h>

#include <strutpress/run.h>
#include <strutpress/seek.h>
#include <strutpress/store.h>

enum {
    SP_DESK_NAME = 64,
    SP_DESK_NOTES = 2048,
    SP_DESK_WORDS = 1024,
    SP_DESK_TASKS = 4096, /* presses and searches while the program runs */
    SP_DESK_WAITING = 600,
    SP_DESK_LOOKS = 2, /* coupons that are drawn for forms at once, for all pages together */
    SP_DESK_LOOK_SECONDS = 5,
};

typedef enum sp_task_state {
    SP_TASK_WAITING,
    SP_TASK_OFFERED, /* it ran when the bench was killed, and is not pressed again unless the user
                        asks */
    SP_TASK_RUNNING,
    SP_TASK_DONE,
    SP_TASK_STOPPED,
    SP_TASK_FAILED
} sp_task_state;

/* These are struts as polylines, in one state or of a network. */
typedef struct sp_desk_shape {
    int strut_count, point_count;
    int *first_point;  /* strut_count + 1 */
    double *thickness; /* strut_count [mm] */
    double *position;  /* 3 per point [mm] */
    double size[3];    /* of the coupon at rest, or of the block of it that is pressed [mm] */
    double shortening; /* [mm] */
    double force;      /* [N] */
    int step;          /* its number in the curve */
} sp_desk_shape;

/* One press, or one search (target not NULL). The members before `state` are written once. */
typedef struct sp_task {
    struct sp_desk *desk;
    long id;
    char name[SP_DESK_NAME];
    sp_case request; /* of a press */
    int is_search;
    sp_target *target;         /* of a search; owned */
    char folder[SP_DESK_NAME]; /* of a search: where its answers go, in the folder of the bench */
    long file;                 /* its number among the files of the queue (queue.c); 0: none */
    int seeds;                 /* of the flaws, which a press presses */
    /* forecast of the processor time of one of them, and between which times nine of ten such
     * presses lie [s]; 0 for a search */
    double expected, expected_low, expected_high;
    sp_task_state state;
    volatile sig_atomic_t interrupt;
    int threads;                  /* threads that it was given */
    double share, begun, seconds; /* of the time, 0: not known; [s] */
    /* range of the seconds left, right nine times of ten: for the next report of progress, and
     * of the last report; high 0: not known */
    double told_low, told_high, left_low, left_high;
    char message[SP_MESSAGE_SIZE], doing[SP_DESK_NAME];
    char key[SP_KEY_SIZE]; /* of the coupon in the store, "" while it is not there */
    char cautions[SP_DESK_NOTES], words[SP_DESK_WORDS];
    int point_count, point_room;
    double (*point)[2]; /* the curve so far [mm], [N]: of the first seed while it is pressed */
    int curve_seed;     /* of the flaws; -1: the press has not begun */
    int band_count;
    double (*band)[3]; /* shortening [mm], lowest and highest force of the seeds [N] */
    sp_desk_shape shape;
    char *answer; /* of a search: its records as JSON */
} sp_task;

/* A coupon that is being drawn for a form. */
typedef struct sp_desk_look {
    double begun; /* [s]; 0: this one is free */
    volatile sig_atomic_t interrupt;
} sp_desk_look;

typedef struct sp_desk {
    char folder[SP_FILE_SIZE];
    volatile sig_atomic_t *interrupt; /* set when the bench ends, so that long answers stop */
    sp_store *store;
    pthread_mutex_t lock; /* held while tasks are looked at or changed */
    pthread_cond_t wake;
    int ending, worker_count;
    long last_file; /* the largest number of a file of the queue */
    sp_desk_look look[SP_DESK_LOOKS];
    pthread_t *worker;
    int task_count;
    sp_task **task;
} sp_desk;

/* Open the bench of a folder, which must exist: bench.store is made in it, what its last bench left
 * in the queue waits again, and workers begin, one per core unless `workers` is given. Errors:
 * SP_NO_READ, SP_NO_WRITE, SP_NO_MEMORY; *desk is NULL then. */
sp_status sp_desk_open(sp_context *context, const char *folder, int workers, sp_desk **desk);
/* Stop what runs, wait for it, and free everything; what ran or waited waits in the folder for the
 * next bench. Accepts NULL. */
void sp_desk_close(sp_desk *desk);

/* Find the path of a plain name in the folder, or in one of its own folders (`part`, "" for none).
 * 0: it does not fit. */
int sp_desk_path(const sp_desk *desk, const char *part, const char *name, char path[SP_FILE_SIZE]);
/* Return 0 for a name (beside the folder's files, or from the root) of something that exists
 * outside the folder, whether by its path or through a link. */
int sp_desk_keeps(const sp_desk *desk, const char *name);
/* Return 1 when a regular file of that name stands in the folder; a link to a file elsewhere does
 * not count. */
int sp_desk_has_file(const sp_desk *desk, const char *name);
/* Return 1 when anything has that name. */
int sp_desk_has_anything(const sp_desk *desk, const char *name);
/* Make one of the bench's own folders ("coupons"). Errors: SP_NO_WRITE. */
sp_status sp_desk_make_folder(sp_context *context, const sp_desk *desk, const char *part);
/* Read the whole text of a file, with NUL at its end, to be freed with sp_free. Errors: SP_NO_READ
 * (also larger than `most`), SP_NO_MEMORY. */
sp_status sp_desk_read(sp_context *context, const char *path, size_t most, char **bytes,
                       size_t *size);
/* Write a file as a whole: first beside its place, then into it. Errors: SP_NO_WRITE. */
sp_status sp_desk_write(sp_context *context, const char *path, const void *bytes, size_t size);
/* Make the text of a case file, from malloc, with `head` before it; NULL: no memory. */
char *sp_desk_case_text(const sp_case *request, const char *head);
/* Write a case as a case file of its own (coupons/KEY.yaml, or a name in the folder). */
sp_status sp_desk_write_case(sp_context *context, const char *path, const sp_case *request);

/* Put a press or a search at the end of the queue, after writing its file. A target belongs to the
 * desk from then on, also after an error. Errors: SP_BAD_USAGE (too many wait), SP_NO_MEMORY,
 * SP_NO_WRITE, those of sp_case_resolve. */
sp_status sp_desk_add(sp_context *context, sp_desk *desk, const char *name, const sp_case *request,
                      sp_target *target, const char *folder, long *id);
/* Find a task by its number; NULL: there is none. Called with the lock held. */
sp_task *sp_desk_find(const sp_desk *desk, long id);
/* Stop a task that waits or runs; one that has ended stays as it is. 0: there is no such task. */
int sp_desk_stop(sp_desk *desk, long id);
/* Let a task that is offered wait for its turn. 0: there is no such task. */
int sp_desk_again(sp_desk *desk, long id);
const char *sp_task_word(sp_task_state state);

/* Take a turn to draw a coupon for a form, which is given back in the end; NULL: all turns are
 * taken. */
sp_desk_look *sp_desk_begin_look(sp_desk *desk);
void sp_desk_end_look(sp_desk *desk, sp_desk_look *turn);
/* End drawings that take too long, or all of them when the bench ends. This is called several times
 * a second. */
void sp_desk_watch_looks(sp_desk *desk);

/* Note how far a task has come; called with the task as `user`. */
void sp_task_keep_progress(void *user, double fraction, const char *text);
/* Note how much of its time is left, for the report of progress that follows. */
void sp_task_keep_left(void *user, double low, double high);
/* Mark a task as begun, and in the end write its time; the lock is held for the second. */
void sp_task_begin(sp_task *task);
void sp_task_end(sp_task *task, sp_task_state state, const char *message);

/* queue.c: every task that waits has a file, so that a bench that ends or is killed forgets
 * nothing: queue/N.yaml, the case of a press, or queue/N.search, the name of a search whose target
 * stands in the folder. While the task runs, its file is called N.begun.yaml or N.begun.search. */
/* Write the file of a task under a new number. Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_queue_write(sp_context *context, sp_desk *desk, sp_task *task);
void sp_queue_mark_begun(const sp_desk *desk, const sp_task *task);
void sp_queue_mark_waiting(const sp_desk *desk, const sp_task *task);
void sp_queue_remove(const sp_desk *desk, const sp_task *task);
/* Take over the tasks that the last bench of this folder left, by number: those that waited wait
 * again, those that ran are offered unless that bench was ended in good order. A file that cannot
 * be read becomes a failed task that says why. Errors: SP_NO_MEMORY. */
sp_status sp_queue_take(sp_context *context, sp_desk *desk);
/* Make an empty task, which sp_desk_free_task frees; NULL: no memory. */
sp_task *sp_desk_make_task(sp_desk *desk, const char *name);
void sp_desk_free_task(sp_task *task);
/* Find out how many seeds a press takes, and how long. Errors: those of sp_case_resolve. */
sp_status sp_desk_forecast(sp_context *context, sp_task *task);

/* press.c: press the case of a task with the seeds that `press` would take, keep the curve of the
 * first while it grows, put all into the store and the states of one beside it. */
void sp_desk_press(sp_desk *desk, sp_task *task);
/* search.c: search the target of a task. */
void sp_desk_search(sp_desk *desk, sp_task *task);

/* shapes.c: keep the states of a coupon in coupons/KEY.shapes. Errors: SP_NO_WRITE, SP_NO_MEMORY.
 */
sp_status sp_shapes_write(sp_context *context, const sp_desk *desk, const char *key,
                          const sp_result *result);
/* Find the state nearest to a nominal strain, or the first on the way down that carries a force.
 * Errors: SP_NO_READ (none are kept), SP_NO_MEMORY. */
sp_status sp_shapes_read(sp_context *context, const sp_desk *desk, const char *key, double number,
                         int by_force, sp_desk_shape *shape);
/* Make the shape of frame `frame` of a path; `shape` may hold an earlier one of the same path. 0:
 * no memory. */
int sp_shape_take(const sp_path *path, int frame, sp_desk_shape *shape);
void sp_shape_free(sp_desk_shape *shape);

#endif
