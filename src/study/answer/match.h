/* Draw the curves of the candidates beside the curve that is to be met. */
#ifndef SP_ANSWER_MATCH_H
#define SP_ANSWER_MATCH_H

#include <stdio.h>

#include "seek/seek_parts.h"

/* Draw the match of a target as SVG. Errors: SP_NO_READ, SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_answer_draw_match(sp_context *context, const sp_answer *answer, FILE *stream);

#endif
