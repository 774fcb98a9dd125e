/* Connected pieces of a finished network, and what was left out of it. */
#include <stdio.h>

#include "base/alloc.h"
#include "network/groups.h"
#include "network/parts.h"

int sp_network_pieces(const sp_network *network, int *piece)
{
    for (int n = 0; n < network->joint_count; n++) piece[n] = n;
    for (int s = 0; s < network->strut_count; s++)
        sp_unite(piece, network->strut_joint[2 * s], network->strut_joint[2 * s + 1]);
    return sp_number_groups(piece, network->joint_count);
}

sp_status sp_network_count_pieces(sp_context *context, sp_network *network)
{
    int *piece = sp_alloc((size_t)network->joint_count, sizeof *piece);
    if (!piece)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", network->joint_count);
    network->piece_count = sp_network_pieces(network, piece);
    sp_free(piece);
    return SP_OK;
}

void sp_network_left_out(const sp_network *network, char text[SP_LEFT_OUT_SIZE])
{
    const int apart = network->dropped_one_platen + network->dropped_no_platen;
    const struct {
        int count;
        const char *what;
    } part[] = {{network->dropped_stubs, "short stubs"},
                {network->dropped_pieces - apart, "struts with a loose end"},
                {network->dropped_one_platen, "struts of pieces that touch one platen only"},
                {network->dropped_no_platen, "struts of pieces that touch no platen"},
                {network->dropped_flat, "struts of the pattern in the face of a platen"}};
    size_t used = 0;
    text[0] = 0;
    for (size_t i = 0; i < sizeof part / sizeof *part; i++)
        if (part[i].count > 0 && used < SP_LEFT_OUT_SIZE)
            used += (size_t)snprintf(text + used, SP_LEFT_OUT_SIZE - used, "%s%d %s",
                                     used ? ", " : "", part[i].count, part[i].what);
}
