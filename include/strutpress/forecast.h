/* Forecast a press before it begins: its processor time, its memory, and what in the case makes it
 * long.
 *
 * Units: seconds, bytes; strains are fractions. Ownership: structures and texts are the caller's.
 * Errors: each function names its own. Threads: from several at once, each with its own context.
 *
 * One model for everything that is asked before a press: the line of `check`, `press` and `batch`,
 * the order in which a plan is pressed, the deal of shares, and whether a coupon fits into the
 * memory. A resolved case (resolve.h) holds what is expected of it before its network is built. */
#ifndef STRUTPRESS_FORECAST_H
#define STRUTPRESS_FORECAST_H

#include <strutpress/case.h>
#include <strutpress/network.h>

SP_PUBLIC_BEGIN

#define SP_FORECAST_REASON_SIZE 160

struct sp_resolved; /* resolve.h */

typedef struct sp_forecast {
    /* 1: the counts are those of the network; 0: they come from the case alone and are about right
     * (sp_case_resolve). */
    int built;
    int dimension;
    double struts, elements, unknowns;
    double seconds;   /* processor time of the whole run on a machine as in speed/forecast.csv */
    double low, high; /* nine of ten such presses take between these times [s] */
    double bytes;     /* largest memory of the run, without what every run takes */
    double strain;    /* at which the press ends: the load limit may be met before press.strain */
    int panels;       /* pressed along the extrusion */
    int in_time;      /* a press in time: every segment is taken to be as long as a press */
    int searches;     /* 1: the critical step is searched for first, which may take as long again */
    int branches; /* 1: other stable states are looked for, which takes some ten times as long */
    double tried; /* processor time of the coarse press behind the forecast; 0: none [s] */
    double tried_elements; /* elements of that */
    /* share of its own time that it had taken when it was stopped; 1: it came to its end, 0 with a
     * time: it was stopped before it showed anything */
    double tried_share;
    /* "60 % density and 3000 struts", "" when nothing stands out */
    char reason[SP_FORECAST_REASON_SIZE];
} sp_forecast;

/* Forecast the press of a network that was built for this case; the solid block has a forecast,
 * too. Elements and unknowns are those of the mesh that a press would make. Errors: those of the
 * law (SP_BAD_CASE, SP_NO_READ), SP_NO_MEMORY. */
sp_status sp_forecast_network(sp_context *context, const sp_case *request,
                              const sp_network *network, sp_forecast *forecast);

/* Tell the time of a forecast better: press the network that was built for a resolved case, with a
 * quarter of the steps and two elements per strut, for `seconds` of processor time at most. One
 * that is stopped there tells by how far it came. Nothing changes for what was not measured so: the
 * solid block, walls along the load, protocols and press.branches. Errors: SP_INTERRUPTED,
 * SP_NO_MEMORY; a coarse press that fails otherwise leaves the forecast as it is. */
sp_status sp_forecast_try(sp_context *context, const struct sp_resolved *resolved,
                          const sp_network *network, double seconds, sp_forecast *forecast);

/* Return 1 when a press of this forecast is long enough, and of a kind, for a coarse press to be
 * worth its time. */
int sp_forecast_is_worth_trying(const sp_forecast *forecast);

/* What many coupons take together, whose forecasts add up to `sum`: errors average out, but what
 * takes long takes much longer than was forecast, so that plans of ten random coupons take a
 * quarter more. Coupons of one kind err together: of them the range is that of one. */
typedef struct sp_forecast_all {
    double seconds, low, high; /* nine of ten lie between low and high */
} sp_forecast_all;
sp_forecast_all sp_forecast_of_all(double sum, int coupons);

/* Return the seconds of a forecast without its search for the critical step. */
double sp_forecast_without_search(const sp_forecast *forecast);

/* "12 s and 30 MB on a workstation core, ...; most of it: ...": for the line that begins with
 * `forecast`. */
void sp_forecast_text(const sp_forecast *forecast, char *text, size_t size);
/* Write a time for people: "under 0.1 s", "12 s", "3 min", "5 h", "3 days". */
void sp_forecast_time_text(double seconds, char *text, size_t size);
/* Write a range of times: "5 to 23 s", "40 s to 3 min", "under 0.1 s". */
void sp_forecast_range_text(double low, double high, char *text, size_t size);
/* Write what is left of a run: one time where nine of ten runs lie close to it, "about 12 s left",
 * else the range of nine of ten, "5 to 23 s left". */
void sp_forecast_left_text(double low, double high, char *text, size_t size);

SP_PUBLIC_END

#endif
