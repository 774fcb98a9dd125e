/* Numbers joined into groups. */
#ifndef SP_NETWORK_GROUPS_H
#define SP_NETWORK_GROUPS_H

/* Return the number that stands for the group of n; parent[n] == n where n stands for itself. The
 * way to it is shortened. */
int sp_group_of(int *parent, int n);

/* Put the groups of a and b together; the smaller number stands for the new group. */
void sp_unite(int *parent, int a, int b);

/* Where only sp_unite was used: put the number of its group in place of each parent, counted from 0
 * in the order of their first members. Returns how many groups there are. */
int sp_number_groups(int *parent, int count);

#endif
