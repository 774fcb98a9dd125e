/* Groups, see groups.h. */
#include "network/groups.h"

int sp_group_of(int *parent, int n)
{
    while (parent[n] != n) n = parent[n] = parent[parent[n]];
    return n;
}

void sp_unite(int *parent, int a, int b)
{
    a = sp_group_of(parent, a), b = sp_group_of(parent, b);
    parent[a > b ? a : b] = a > b ? b : a;
}

int sp_number_groups(int *parent, int count)
{
    int groups = 0;
    for (int n = 0; n < count; n++) /* the first of a group has a smaller number than its members,
                                       and its final number already */
        parent[n] = parent[n] == n ? groups++ : parent[parent[n]];
    return groups;
}
