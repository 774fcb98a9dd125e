#include "filament/filament.h"

#include <strutpress/filament.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"
#include "case/case_parts.h"

#define FILAMENT_ROWS(X)                                                                           \
    X(urethane_85a, "urethane-85a")                                                                \
    X(urethane_90a, "urethane-90a")                                                                \
    X(urethane_95a, "urethane-95a")                                                                \
    X(urethane_98a, "urethane-98a")                                                                \
    X(urethane_55d, "urethane-55d")                                                                \
    X(urethane_64d, "urethane-64d")                                                                \
    X(polyamide_12, "polyamide-12")                                                                \
    X(polylactide, "polylactide")                                                                  \
    X(copolyester, "copolyester")

/* The texts of the files that stand beside this one. */
#define FILAMENT_TEXT(id, name)                                                                    \
    __asm__(".pushsection .rodata, \"a\"\nsp_filament_" #id                                        \
            ":\n.incbin \"src/coupon/filament/" name ".yaml\"\n.byte 0\n.popsection\n");           \
    extern const char sp_filament_##id[];
FILAMENT_ROWS(FILAMENT_TEXT)
#undef FILAMENT_TEXT

static const sp_filament filaments[] = {
#define FILAMENT_ENTRY(id, name) {name, sp_filament_##id},
    FILAMENT_ROWS(FILAMENT_ENTRY)
#undef FILAMENT_ENTRY
};
enum { FILAMENT_COUNT = sizeof filaments / sizeof filaments[0] };

static const char key[] = "material.filament";

const sp_filament *sp_filaments(int *count)
{
    *count = FILAMENT_COUNT;
    return filaments;
}

static const char *text_of(const char *name)
{
    for (int i = 0; i < FILAMENT_COUNT; i++)
        if (!strcmp(filaments[i].name, name)) return filaments[i].text;
    return NULL;
}

static sp_status refuse(sp_context *context, const sp_case *request)
{
    char valid[SP_VALID_SIZE] = "";
    sp_nearest nearest = {0};
    for (int i = 0; i < FILAMENT_COUNT; i++) {
        const size_t used = strlen(valid);
        snprintf(valid + used, sizeof valid - used, "%s, ", filaments[i].name);
        sp_nearest_offer(&nearest, request->filament, filaments[i].name);
    }
    const size_t used = strlen(valid);
    snprintf(valid + used, sizeof valid - used, "or a file that ends in .yaml");
    return sp_case_fail_at(context, request, key, NULL, valid, nearest.name);
}

static int is_file(const char *name)
{
    const size_t length = strlen(name);
    return length > 5 && !strcmp(name + length - 5, ".yaml");
}

/* A filament file is looked for beside the case file, like any other file that a case names. */
static void path_of(const sp_case *request, char path[2 * SP_FILE_SIZE])
{
    const char *slash = strrchr(request->source, '/');
    const int beside = request->filament[0] != '/' && slash;
    snprintf(path, 2 * SP_FILE_SIZE, "%.*s%s", beside ? (int)(slash - request->source) + 1 : 0,
             request->source, request->filament);
}

/* A filament file that gives a key outside the material is refused: the case says how to press. */
static sp_status check_sections(sp_context *context, const char *name, const sp_case *filament)
{
    for (int i = 0; i < sp_parameter_count(); i++) {
        const char *found = sp_parameter_at(i).key;
        const int material = !strncmp(found, "material.", 9) && strcmp(found, key) != 0;
        if (filament->origin[i] == SP_ORIGIN_FILE && !material)
            return sp_case_fail(context, name, filament->line[i], found, "a key of the case",
                                "keys of the section material, without filament", NULL);
    }
    return SP_OK;
}

/* Keys that say the same thing in two ways: a case that gives one keeps it, whatever the filament
 * has. */
static int is_given(const sp_case *request, const char *begins)
{
    for (int i = 0; i < sp_parameter_count(); i++)
        if (request->origin[i] == SP_ORIGIN_FILE &&
            !strncmp(sp_parameter_at(i).key, begins, strlen(begins)))
            return 1;
    return 0;
}

static int stays(const sp_case *request, const char *found)
{
    static const char *const together[] = {"material.relaxation.", "material.softening.",
                                           "material.flow.", "material.second_flow."};
    if (!strcmp(found, "material.modulus") && is_given(request, "material.shore_")) return 1;
    for (size_t i = 0; i < sizeof together / sizeof *together; i++)
        if (!strncmp(found, together[i], strlen(together[i])) && is_given(request, together[i]))
            return 1;
    return 0;
}

static void fill(const sp_case *filament, sp_case *request)
{
    const sp_case given = *request;
    for (int i = 0; i < sp_parameter_count(); i++) {
        char value[SP_FILE_SIZE];
        const char *found = sp_parameter_at(i).key;
        if (filament->origin[i] != SP_ORIGIN_FILE || given.origin[i] == SP_ORIGIN_FILE ||
            stays(&given, found))
            continue;
        sp_case_value_text(filament, i, value, sizeof value);
        if (sp_case_row_parse(request, i, value)) request->origin[i] = SP_ORIGIN_DERIVED;
    }
}

sp_status sp_filament_apply(sp_context *context, sp_case *request)
{
    char path[2 * SP_FILE_SIZE], *read = NULL;
    sp_case filament;
    size_t size = 0;
    if (!request->filament[0]) return SP_OK;
    const char *text = text_of(request->filament);
    if (!text && !is_file(request->filament)) return refuse(context, request);
    sp_status status = SP_OK;
    snprintf(path, sizeof path, "filament %s", request->filament);
    if (!text) {
        path_of(request, path);
        status = sp_case_read_file(context, path, &read, &size);
    } else {
        size = strlen(text);
    }
    if (status == SP_OK) status = sp_case_parse(context, path, text ? text : read, size, &filament);
    if (status == SP_OK) status = check_sections(context, path, &filament);
    if (status == SP_OK) fill(&filament, request);
    sp_free(read);
    return status;
}
