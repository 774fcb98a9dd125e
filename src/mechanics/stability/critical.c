/* This file finds the critical mode, and the struts that bend most in it. */
#include "beam/beam.h"
#include "stability/critical.h"
#include "state/softest.h"

/* Shares closer than this are equal, so that symmetric struts keep the order of their numbers. */
static const double same_share = 1e-5;

sp_status sp_critical_mode(sp_context *context, sp_system *system, double *mode)
{
    const sp_model *model = system->model;
    const sp_status status = sp_softest_direction(context, system, NULL);
    for (int i = 0; i < model->unknowns * model->node_count; i++)
        mode[i] = model->unknown[i] >= 0 ? system->softest[model->unknown[i]] : 0;
    return status;
}

static void insert_ranked(sp_critical *critical, int strut, double share)
{
    const int room = (int)(sizeof critical->strut / sizeof critical->strut[0]);
    int at = critical->strut_count < room ? critical->strut_count++ : room - 1;
    if (critical->strut_count == room && at == room - 1 && critical->strut[at] >= 0 &&
        critical->share[at] >= share - same_share)
        return;
    for (; at > 0 && critical->share[at - 1] < share - same_share; at--) {
        critical->strut[at] = critical->strut[at - 1];
        critical->share[at] = critical->share[at - 1];
    }
    critical->strut[at] = strut;
    critical->share[at] = share;
}

static double strut_bending(const sp_system *system, const double *mode, int strut)
{
    const sp_model *model = system->model;
    double sum = 0;
    for (int e = model->strut_element[strut]; e < model->strut_element[strut + 1]; e++)
        sum += sp_beam_bending(model, e, system->x, &system->element_state[e],
                               sp_system_history(system, e), mode);
    return sum;
}

/* Sum the bending energy of every strut in the mode, and sort the struts by it. E21 */
void sp_critical_rank(const sp_system *system, const double *mode, sp_critical *critical)
{
    const sp_network *network = system->model->network;
    const int struts = network->strut_count;
    double total = 0;
    critical->strut_count = 0;
    for (size_t i = 0; i < sizeof critical->strut / sizeof critical->strut[0]; i++)
        critical->strut[i] = -1;
    for (int s = 0; s < struts; s++) total += strut_bending(system, mode, s);
    for (int s = 0; s < struts && total > 0;) {
        const int one = s, panel = network->panel ? network->strut_panel[s].panel : s;
        double sum = 0; /* sum over a panel, whose bars stand together, or over a strut */
        do sum += strut_bending(system, mode, s++);
        while (network->panel && s < struts && network->strut_panel[s].panel == panel);
        insert_ranked(critical, network->panel ? panel : one, sum / total);
    }
}
