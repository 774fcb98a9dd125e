/* Describe the seeds of the flaws in words. */
#include "caution/caution.h"
#include "write/text.h"

void sp_seeds_text(const sp_result *result, char *text, size_t size)
{
    const sp_seeds *s = result->seeds;
    text[0] = '\0';
    if (!s && !sp_seeds_are_alike(&result->request, result->network.built))
        sp_format(text, size,
                  "one seed of the flaws was pressed; --seeds 5 presses five and says how far each "
                  "figure scatters");
    if (!s) return;
    sp_format(text, size,
              "%d presses, flaw seeds %d to %d; figures are their medians. Curve, first buckle and "
              "pictures are those of seed %d, %s%s",
              s->count, s->first, s->first + s->count - 1, s->first + s->kept,
              s->is_named ? "which the case names" : "whose figures are nearest the medians",
              s->early ? ". Some of the presses ended early" : "");
}
