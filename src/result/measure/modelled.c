/* What a case leaves out of its measures: a figure that is zero by construction is no result. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <strutpress/protocol.h>

#include "case/case_parts.h"
#include "law/law.h"
#include "measure/measure_list.h"

/* Figures of what the coupon does not give back, of its struts, and of the solid block that an
 * infill is compared with. */
static const char *const of_losses[] = {"energy_dissipated", "set_strain", "instant_set",
                                        "energy_returned", "energy_kept"};
static const char *const of_way_back[] = {"set_strain", "instant_set", "energy_returned",
                                          "energy_kept"};
static const char *const of_struts[] = {"critical_strain",     "critical_force",
                                        "buckled_strain",      "buckled_force",
                                        "buckled_slenderness", "buckled_euler_ratio"};
static const char *const of_first_strut[] = {"buckled_strain", "buckled_force",
                                             "buckled_slenderness", "buckled_euler_ratio"};
static const char *const of_solid[] = {"solid_share_10", "solid_share_25", "solid_share_40"};

/* The names of figures of a press in time begin with these words. All of them need a protocol,
 * except for the energies, which a law in time has as well. */
static const char *const of_time[] = {"hold_",    "set_1",      "set_30", "set_24",
                                      "set_half", "recovered_", "cycle_", "impact_"};
static const char *const of_time_law[] = {"energy_softened", "energy_relaxed", "energy_flowed"};

/* A press to 70 % ends at 70 % in spite of round-off. */
static const double target_tolerance = 1e-6;
#define IS_ONE_OF(name, list) is_one_of(name, list, sizeof(list) / sizeof *(list))

static int is_one_of(const char *name, const char *const *list, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!strcmp(list[i], name)) return 1;
    return 0;
}

static int law_in_time(const sp_case *request)
{
    return sp_protocol_takes_time(request) &&
           (!request->protocol[0] || sp_case_asks_for_time(request));
}

/* Return 1 when the law itself takes up energy. What the coupon takes up in time does not count,
 * because only a protocol shows it. */
static int yields(const sp_case *request)
{
    const sp_law_row *law = sp_law_find(request->law);
    return law && law->history;
}

static int gives_all_back(const sp_case *request)
{
    return sp_law_find(request->law) && !yields(request) && !law_in_time(request);
}

static int is_of_a_drop(const char *name)
{
    return !strncmp(name, "impact_", strlen("impact_"));
}

static int is_of_time(const char *name)
{
    for (size_t i = 0; i < sizeof of_time / sizeof *of_time; i++)
        if (!strncmp(name, of_time[i], strlen(of_time[i]))) return 1;
    return IS_ONE_OF(name, of_time_law);
}

int sp_measure_applies(const char *name, const sp_case *request)
{
    /* No mass falls unless the protocol says so; a ready-made protocol says it in its name. */
    if (is_of_a_drop(name) && !strstr(request->protocol, "drop")) return 0;
    return !is_of_time(name) || sp_protocol_takes_time(request);
}

static int rubs(const sp_case *request)
{
    return request->strut_friction > 0 || request->platen_friction > 0;
}

static sp_modelled losses(const sp_case *request, char words[SP_MODELLED_SIZE])
{
    if (!gives_all_back(request)) return SP_MODELLED;
    if (rubs(request) && !sp_case_is_solid(request)) {
        snprintf(words, SP_MODELLED_SIZE, "friction's alone: the law gives all back");
        return SP_PARTLY_MODELLED;
    }
    snprintf(words, SP_MODELLED_SIZE, "not modelled: law %s gives all back", request->law);
    return SP_NOT_MODELLED;
}

static sp_modelled in_a_block(const char *name, const sp_case *request,
                              char words[SP_MODELLED_SIZE])
{
    if (IS_ONE_OF(name, of_struts)) {
        snprintf(words, SP_MODELLED_SIZE, "does not apply: a solid block has no struts");
        return SP_NOT_MODELLED;
    }
    if (strcmp(name, "fibre_strain_max") || request->platens == SP_PLATENS_SLIDING)
        return SP_MODELLED;
    snprintf(words, SP_MODELLED_SIZE, "not modelled: strains inside a bonded block");
    return SP_NOT_MODELLED;
}

sp_modelled sp_measure_modelled(const char *name, const sp_case *request,
                                char words[SP_MODELLED_SIZE])
{
    words[0] = '\0';
    if (!sp_measure_applies(name, request)) {
        snprintf(words, SP_MODELLED_SIZE,
                 is_of_a_drop(name) && request->protocol[0]
                     ? "does not apply: the protocol drops nothing"
                     : "does not apply: the press has no press.protocol");
        return SP_NOT_MODELLED;
    }
    if (IS_ONE_OF(name, of_losses)) return losses(request, words);
    if (sp_case_is_solid(request)) return in_a_block(name, request, words);
    if (request->press_direction == SP_PRESS_ALONG && IS_ONE_OF(name, of_first_strut)) {
        snprintf(words, SP_MODELLED_SIZE, "does not apply: walls carry on when buckled");
        return SP_NOT_MODELLED;
    }
    if (!IS_ONE_OF(name, of_solid) || !yields(request)) return SP_MODELLED;
    snprintf(words, SP_MODELLED_SIZE, "not modelled: no solid block for law %s", request->law);
    return SP_NOT_MODELLED;
}

double sp_measure_load_end(const sp_path *path)
{
    if (path->stop != SP_STOP_LOAD || path->step_count == 0) return NAN;
    return sp_path_strain(path, path->step_count - 1);
}

double sp_measure_load_end_at(const sp_case *request, double final_strain)
{
    const int short_of_it = final_strain < request->strain * (1 - target_tolerance);
    return short_of_it && isfinite(request->load_limit) ? final_strain : NAN;
}

/* These figures need press.unload or press.find_critical, not more load. */
static int is_not_asked(const char *name, const sp_case *request)
{
    if (!request->unload && !request->protocol[0] && IS_ONE_OF(name, of_way_back)) return 1;
    return !request->find_critical && !strncmp(name, "critical_", strlen("critical_"));
}

int sp_measure_reason(const char *name, const sp_case *request, double load_end,
                      char words[SP_MODELLED_SIZE])
{
    if (sp_measure_modelled(name, request, words) == SP_NOT_MODELLED) return 0;
    if (isnan(load_end) || is_not_asked(name, request)) {
        snprintf(words, SP_MODELLED_SIZE, "not reached");
        return 0;
    }
    const int large = request->load_limit >= 1000;
    snprintf(words, SP_MODELLED_SIZE,
             "not reached: the load limit of %.4g %s ended the press at %.3g %% strain",
             request->load_limit / (large ? 1000 : 1), large ? "kN" : "N", 100 * load_end);
    return 1;
}
