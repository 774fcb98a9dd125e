/* Say in words which other stable states press.branches found. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "caution/caution.h"
#include "write/text.h"

enum { NAMED_MAX = 4 }; /* number of strains that are named one by one */

double sp_branches_apart(const sp_branches *branches)
{
    double apart = 0;
    for (int i = 0; i < branches->look_count; i++) apart = fmax(apart, branches->look[i].apart);
    return apart;
}

/* List strains as "1.3 %, 2.4 %": those of the looks that found other states, or those where the
 * press went over to one. */
static int name_strains(const sp_branches *branches, int taken, char *text, size_t size)
{
    int count = 0;
    text[0] = '\0';
    for (int i = 0; i < branches->look_count; i++) {
        const sp_look *look = &branches->look[i];
        const size_t used = strlen(text);
        if (!(taken ? look->taken : look->others > 0) || count++ >= NAMED_MAX) continue;
        sp_format(text + used, size - used, "%s%.3g %%", used ? ", " : "", 100 * look->strain);
    }
    if (count > NAMED_MAX) {
        const size_t used = strlen(text);
        sp_format(text + used, size - used, " and %d more", count - NAMED_MAX);
    }
    return count;
}

void sp_branches_text(const sp_branches *branches, char *text, size_t size)
{
    char others[96], taken[96], gained[192] = "", none[64] = "";
    int pushes = 0, lost = 0;
    double energy = 0;
    for (int i = 0; i < branches->look_count; i++) {
        pushes += branches->look[i].pushes;
        lost += branches->look[i].lost;
        energy += branches->look[i].gained;
    }
    text[0] = '\0';
    if (!branches->searched) return;
    if (branches->look_count == 0) {
        sp_format(text, size, "no fold began, so that no other state was looked for");
        return;
    }
    if (lost > 0) sp_format(none, sizeof none, "; %d of them found none at all", lost);
    if (name_strains(branches, 0, others, sizeof others) == 0) {
        sp_format(
            text, size,
            "%d pushes of single layers and along the softest direction, from %d states where "
            "it folds, ended in no other stable state%s",
            pushes, branches->look_count, none);
        return;
    }
    if (name_strains(branches, 1, taken, sizeof taken) > 0)
        sp_format(gained, sizeof gained, " Went on from one of less energy at %s: %.3g mJ less.",
                  taken, sp_finite(energy));
    sp_format(text, size,
              "%d pushes from %d states where it folds: other stable states at a strain of %s.%s "
              "Forces of those not taken lie up to %.2g %% from the curve over the next 5 %% of "
              "strain",
              pushes, branches->look_count, others, gained,
              100 * sp_finite(sp_branches_apart(branches)));
}
