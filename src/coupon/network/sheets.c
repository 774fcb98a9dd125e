/* The cells of panels, in the order in which the bars of a panel were made (panels.c): level by
 * level those along it, then the upright ones, then the two diagonals of every cell; then what is a
 * skin under its edges. */
#include <strutpress/network.h>

/* Cell i along and j up of a wall, whose first bar is `first`. */
static sp_sheet sheet_of(int first, int i, int j, const sp_panel *wall, int panel)
{
    const int n = wall->across, m = wall->up;
    const int low = first + j * n + i, high = low + n;
    const int left = first + (m + 1) * n + j * (n + 1) + i;
    const int diagonal = first + (m + 1) * n + m * (n + 1) + 2 * (j * n + i);
    return (sp_sheet){
        .panel = panel,
        .role = wall->role,
        .corner = {2 * low, 2 * low + 1, 2 * high + 1, 2 * high},
        .bar = {2 * low, 2 * high, 2 * left, 2 * left + 2, 2 * diagonal, 2 * diagonal + 2}};
}

int sp_network_sheets(const sp_network *network, sp_sheet *sheet)
{
    int count = 0, first = 0;
    for (int p = 0; p < network->panel_count; p++) {
        const int n = network->panel[p].across, m = network->panel[p].up;
        for (int k = 0; sheet && k < n * m; k++)
            sheet[count + k] = sheet_of(first, k % n, k / n, &network->panel[p], p);
        count += n * m;
        first += n * (m + 1) + (n + 1) * m + 2 * n * m + (network->skin > 0 ? 2 * (n + 1) : 0);
    }
    return count;
}
