#include "connected.h"

#include "check.h"

#include "base/alloc.h"

static int root(int *parent, int n)
{
    while (parent[n] != n) n = parent[n] = parent[parent[n]];
    return n;
}

void check_connected(const sp_network *network)
{
    const size_t count = (size_t)network->joint_count;
    int *parent = sp_alloc(count, sizeof *parent), *faces = sp_alloc(count, sizeof *faces);
    int *number = sp_alloc(count, sizeof *number), pieces = 0;
    for (int n = 0; n < network->joint_count; n++) parent[n] = n;
    for (int s = 0; s < network->strut_count; s++)
        parent[root(parent, network->strut_joint[2 * s])] =
            root(parent, network->strut_joint[2 * s + 1]);
    for (int n = 0; n < network->joint_count; n++) faces[root(parent, n)] |= network->joint_face[n];
    for (int n = 0; n < network->joint_count; n++) {
        if (root(parent, n) != n) continue;
        assert_int_equal(faces[n], SP_FACE_LOWER | SP_FACE_UPPER);
        pieces++;
    }
    assert_int_equal(network->piece_count, pieces);
    assert_int_equal(sp_network_pieces(network, number), pieces);
    for (int s = 0; s < network->strut_count; s++)
        assert_int_equal(number[network->strut_joint[2 * s]],
                         number[network->strut_joint[2 * s + 1]]);
    for (int n = 0, next = 0; n < network->joint_count; n++) {
        check_true(number[n] >= 0 && number[n] <= next); /* in the order of their first joints */
        next += number[n] == next;
    }
    sp_free(parent);
    sp_free(faces);
    sp_free(number);
}
