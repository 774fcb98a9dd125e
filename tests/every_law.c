#include "every_law.h"

#include "check.h"
#include "temporary_file.h"

const char *every_law_table(const char *name)
{
    if (strcmp(name, "yielding") == 0) return "0.02 0.058\n0.05 0.115\n0.1 0.15\n0.3 0.2\n1 0.28\n";
    return "strain,stress\n-0.6,-7\n-0.3,-1.6\n-0.1,-0.36\n0,0\n0.1,0.27\n0.5,0.9\n"
           "1.5,1.9\n4,4.6\n";
}

const char *every_law_write(const char *name, char *setting, size_t size)
{
    const int length = snprintf(setting, size, "material.table=");
    write_temporary_file(setting + length, size - (size_t)length, every_law_table(name));
    return setting + length;
}

void every_law_constants(const char *name, sp_case *request)
{
    snprintf(request->law, sizeof request->law, "%s", name);
    request->modulus = 3;
    request->poisson_ratio = 0.3;
    request->c10 = 0.4;
    request->c01 = 0.1;
    request->c20 = 0.05;
    request->c30 = 0.01;
    request->gent_limit = 30;
    request->ogden_modulus = (sp_list){2, {0.6, -0.01}};
    request->ogden_exponent = (sp_list){2, {1.6, -4}};
}

static void any_law(const char *name, int strain_state, const char *table, sp_case *request)
{
    sp_case_default(request);
    every_law_constants(name, request);
    snprintf(request->table_file, sizeof request->table_file, "%s", table);
    request->strain_state = strain_state;
}

void every_law_time(sp_case *request)
{
    request->relaxation_exponent = 0.08;
    request->relaxation_shortest = 0.1;
    request->relaxation_longest = 1000;
    request->flow_share = 0.3;
    request->flow_stress = 0.1;
    request->flow_time = 100;
    request->second_flow_share = 0.2;
    request->second_flow_stress = 0.3;
    request->second_flow_time = 5;
    if (strcmp(request->law, "yielding") == 0) return;
    request->softening_ratio = 1.7;
    request->softening_energy = 0.2;
    request->softening_share = 0.1;
}

static void every(void (*check)(const sp_law *law), int in_time)
{
    char table[64];
    int count;
    const sp_law_row *row = sp_law_rows(&count);
    for (int i = 0; i < 2 * count; i++) {
        write_temporary_file(table, sizeof table, every_law_table(row[i / 2].name));
        sp_context context = {0};
        sp_case request;
        sp_law law;
        any_law(row[i / 2].name, i % 2, table, &request);
        if (in_time) every_law_time(&request);
        const sp_status status = sp_law_prepare(&context, &request, &law);
        remove(table);
        if (status != SP_OK) fail_msg("%s", context.message);
        check(&law);
        sp_law_free(&law);
    }
}

void every_law(void (*check)(const sp_law *law))
{
    every(check, 0);
}

void every_law_in_time(void (*check)(const sp_law *law))
{
    every(check, 1);
}
