/* What a case leaves out of its measures: a figure that is zero by construction is no result. */
#include <stdio.h>
#include <string.h>

#include "law/law.h"
#include "measure/measure_list.h"

/* Figures of what the coupon does not give back. */
static const char *const of_losses[] = {"energy_dissipated", "set_strain", "set_share",
                                        "energy_returned", "energy_kept"};

static int is_one_of(const char *name, const char *const *list, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!strcmp(list[i], name)) return 1;
    return 0;
}

static int gives_all_back(const sp_case *request)
{
    const sp_law_row *law = sp_law_find(request->law);
    return law && !law->history;
}

static int rubs(const sp_case *request)
{
    return request->strut_friction > 0 || request->platen_friction > 0;
}

sp_modelled sp_measure_modelled(const char *name, const sp_case *request,
                                char words[SP_MODELLED_SIZE])
{
    words[0] = '\0';
    if (!is_one_of(name, of_losses, sizeof of_losses / sizeof *of_losses)) return SP_MODELLED;
    if (!gives_all_back(request)) return SP_MODELLED;
    if (rubs(request)) {
        snprintf(words, SP_MODELLED_SIZE, "friction's alone: the law gives all back");
        return SP_PARTLY_MODELLED;
    }
    snprintf(words, SP_MODELLED_SIZE, "not modelled: law %s gives all back", request->law);
    return SP_NOT_MODELLED;
}

void sp_measure_reason(const char *name, const sp_case *request, char words[SP_MODELLED_SIZE])
{
    if (sp_measure_modelled(name, request, words) != SP_NOT_MODELLED)
        snprintf(words, SP_MODELLED_SIZE, "not reached");
}
