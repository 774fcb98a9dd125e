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
    int *parent = sp_alloc((size_t)network->joint_count, sizeof *parent), faces = 0;
    for (int n = 0; n < network->joint_count; n++) parent[n] = n, faces |= network->joint_face[n];
    for (int s = 0; s < network->strut_count; s++)
        parent[root(parent, network->strut_joint[2 * s])] =
            root(parent, network->strut_joint[2 * s + 1]);
    for (int n = 0; n < network->joint_count; n++)
        assert_int_equal(root(parent, n), root(parent, 0));
    assert_int_equal(faces, SP_FACE_LOWER | SP_FACE_UPPER);
    sp_free(parent);
}
