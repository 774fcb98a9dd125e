/* Checks of a case that need the rooms above src/coupon/case: names of patterns and laws, hardness, constants of the law. */
#include <strutpress/inspect.h>

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "case/case_parts.h"
#include "law/hardness.h"
#include "law/law.h"
#include "spatial/plan.h"
#include "pattern/cell.h"
#include "pattern/drawn.h"
#include "pattern/pattern.h"

static void append_name(char *text, size_t size, const char *name)
{
    size_t used = strlen(text);
    if (used < size) snprintf(text + used, size - used, "%s%s", used ? ", " : "", name);
}

static sp_status check_pattern(sp_context *context, const sp_case *request, const char *key,
                               const char *name)
{
    char valid[SP_VALID_SIZE] = "";
    sp_nearest nearest = {0};
    if (sp_pattern_find(name) || sp_cell_find(name)) return SP_OK;
    if (!strcmp(key, "infill.pattern") && !strcmp(name, SP_SOLID_NAME)) return SP_OK;
    for (int i = 0; i < sp_list_pattern_count(); i++) {
        sp_listed row = sp_list_pattern_at(i);
        append_name(valid, sizeof valid, row.alias[0] ? row.alias : row.name);
        sp_nearest_offer(&nearest, name, row.name);
        sp_nearest_offer(&nearest, name, row.alias);
    }
    const char *near = sp_pattern_near(name);
    return sp_case_fail_at(context, request, key, NULL, valid, near ? near : nearest.name);
}

/* Values for layers are read only where there are layers, and layers are planar. */
static sp_status check_layers(sp_context *context, const sp_case *request, int is_spatial)
{
    static const char *const keys[] = {"infill.layer_turn", "infill.layer_pattern"};
    for (int i = 0; i < 2 && !request->layers; i++)
        if (request->origin[sp_case_row_find(keys[i])] == SP_ORIGIN_FILE)
            sp_warn(context, "%s is not read: infill.layers is 0", keys[i]);
    if (!request->layers) return SP_OK;
    if (is_spatial)
        return sp_case_fail_at(context, request, "infill.layers", NULL,
                               "0, because infill.pattern is spatial (layers are planar)", NULL);
    if (!request->layer_pattern[0]) return SP_OK;
    if (sp_cell_find(request->layer_pattern))
        return sp_case_fail_at(context, request, "infill.layer_pattern", NULL, "a planar pattern",
                               NULL);
    return check_pattern(context, request, "infill.layer_pattern", request->layer_pattern);
}

/* Only walls that are extruded can stand along the load. */
static sp_status check_direction(sp_context *context, const sp_case *request, int is_spatial)
{
    const char *valid = is_spatial        ? "across, because infill.pattern is spatial: its struts "
                                            "are pressed as they lie"
                        : request->layers ? "across, because layers are stacked along the depth; "
                                            "pressed through the stack they are not modelled yet"
                                          : NULL;
    if (request->press_direction == SP_PRESS_ACROSS || !valid || sp_case_is_solid(request))
        return SP_OK;
    return sp_case_fail_at(context, request, "press.direction", NULL, valid, NULL);
}

/* A lattice, or a drawing whose lines lie in space. */
static sp_status find_dimension(sp_context *context, const sp_case *request, int *is_spatial)
{
    *is_spatial = sp_cell_find(request->pattern) != NULL;
    if (strcmp(request->pattern, "drawn") != 0) return SP_OK;
    return sp_drawn_is_spatial(context, request, is_spatial);
}

static sp_status check_law(sp_context *context, const sp_case *request)
{
    char valid[SP_VALID_SIZE] = "";
    sp_nearest nearest = {0};
    if (sp_law_find(request->law)) return SP_OK;
    for (int i = 0; i < sp_list_law_count(); i++) {
        append_name(valid, sizeof valid, sp_list_law_at(i).name);
        sp_nearest_offer(&nearest, request->law, sp_list_law_at(i).name);
    }
    return sp_case_fail_at(context, request, "material.law", NULL, valid, nearest.name);
}

static sp_status check_network_file(sp_context *context, const sp_case *request)
{
    int drawn = !strcmp(request->pattern, "drawn") ||
                (request->layers && !strcmp(request->layer_pattern, "drawn"));
    if (drawn && !request->network_file[0])
        return sp_case_fail_at(context, request, "infill.network", "nothing",
                               "the file of the lines, because infill.pattern is drawn", NULL);
    if (!drawn && request->network_file[0])
        sp_warn(context, "infill.network is not read: infill.pattern is %s, not drawn",
                request->pattern);
    return SP_OK;
}

static int is_letter(char c)
{
    return isalnum((unsigned char)c) || c == '_';
}

/* 1 when a word of `text` starts with `name`. */
static int has_word(const char *text, const char *name)
{
    for (const char *at = text; (at = strstr(at, name)); at++)
        if (at == text || !is_letter(at[-1])) return 1;
    return 0;
}

/* A constant that was given for nothing is a slip worth a line, not a refusal: cases are copied and their law changed. */
static void warn_of_unread(sp_context *context, const sp_case *request)
{
    static const char *const constants[] = {
        "poisson_ratio",  "c10",        "c01",  "c20", "c30", "ogden_modulus",
        "ogden_exponent", "gent_limit", "table"};
    const sp_law_row *law = sp_law_find(request->law);
    for (size_t i = 0; i < sizeof constants / sizeof constants[0]; i++) {
        char key[SP_NAME_SIZE];
        snprintf(key, sizeof key, "material.%s", constants[i]);
        int row = sp_case_row_find(key);
        if (request->origin[row] == SP_ORIGIN_FILE && !has_word(law->needs, constants[i]))
            sp_warn(context, "%s is not read by law %s (it reads %s)", key, law->name, law->needs);
    }
}

/* Two hardnesses that no one filament has are a slip of one of them. */
static sp_status check_hardness(sp_context *context, const sp_case *request)
{
    const double shore_a = request->shore_a, shore_d = request->shore_d;
    const sp_hardness a = sp_hardness_a(shore_a), d = sp_hardness_d(shore_d);
    char valid[SP_VALID_SIZE];
    double least = 10, most = 90; /* Shore D that shore_a bears */
    if (sp_hardness_agree(shore_a, shore_d)) return SP_OK;
    while (least < most && !sp_hardness_agree(shore_a, least)) least++;
    while (most > least && !sp_hardness_agree(shore_a, most)) most--;
    snprintf(valid, sizeof valid,
             "%g .. %g beside shore_a %g, or one of the two: %g Shore A says %.3g MPa (%.3g .. "
             "%.3g), %g Shore D "
             "says %.3g MPa (%.3g .. %.3g)",
             least, most, shore_a, shore_a, a.centre, a.low, a.high, shore_d, d.centre, d.low,
             d.high);
    return sp_case_fail_at(context, request, "material.shore_d", NULL, valid, NULL);
}

/* The centre of the band of its hardness. */
static void derive_modulus(sp_case *request)
{
    int row = sp_case_row_find("material.modulus");
    int given = !isnan(request->shore_a) || !isnan(request->shore_d);
    if (request->origin[row] == SP_ORIGIN_FILE || !given) return;
    request->modulus = sp_hardness_band(request->shore_a, request->shore_d).centre;
    request->origin[row] = SP_ORIGIN_DERIVED;
}

/* Spatial struts are free struts; the planar default would be a slip in every case. */
static sp_status settle_strain_state(sp_context *context, sp_case *request, int is_spatial)
{
    int row = sp_case_row_find("material.strain_state");
    if (!is_spatial || request->strain_state == SP_UNIAXIAL) return SP_OK;
    if (request->origin[row] == SP_ORIGIN_FILE)
        return sp_case_fail_at(context, request, "material.strain_state", NULL,
                               "uniaxial, because the struts of a spatial network are free", NULL);
    request->strain_state = SP_UNIAXIAL;
    request->origin[row] = SP_ORIGIN_DERIVED;
    return SP_OK;
}

static void warn_unread(sp_context *context, const sp_case *request, const char *key,
                        const char *what)
{
    if (request->origin[sp_case_row_find(key)] == SP_ORIGIN_FILE)
        sp_warn(context, "%s is not read: infill.pattern %s is %s", key, request->pattern, what);
}

/* A key of the plane given with a spatial pattern, or the reverse, is a slip worth a line, not a refusal. */
static void warn_of_dimension(sp_context *context, const sp_case *request, int is_spatial)
{
    static const char *const planar[] = {"infill.angle", "infill.wave_height", "bead.walls",
                                         "bead.width"};
    static const char *const spatial[] = {
        "infill.strut_diameter", "infill.offset_z",   "infill.cells_x",   "infill.cells_y",
        "infill.cells_z",        "infill.cell_size",  "infill.direction", "infill.turn",
        "infill.face_plates",    "infill.side_frames"};
    enum { PLANAR = sizeof planar / sizeof *planar, SPATIAL = sizeof spatial / sizeof *spatial };
    /* a spatial drawing reads neither, but for the width of struts without a diameter */
    const int is_lattice = sp_cell_find(request->pattern) != NULL;
    for (int i = 0; is_spatial && i < PLANAR - !is_lattice; i++)
        warn_unread(context, request, planar[i], "spatial");
    for (int i = is_spatial; !is_lattice && i < SPATIAL; i++)
        warn_unread(context, request, spatial[i], is_spatial ? "a drawing" : "planar");
}

static void derive(sp_case *request, const char *key)
{
    request->origin[sp_case_row_find(key)] = SP_ORIGIN_DERIVED;
}

/* Written out for whoever reads the case; the network goes by the row as well. */
static void settle_angle(sp_case *request)
{
    if (!isnan(request->angle) || !sp_pattern_find(request->pattern)) return;
    request->angle = sp_pattern_angle(request);
    derive(request, "infill.angle");
}

/* What the block does not read, where it was asked for by name: a case is copied and its pattern changed. */
static void warn_of_infill(sp_context *context, const sp_case *request)
{
    for (int i = 0; i < sp_parameter_count(); i++) {
        const char *key = sp_parameter_at(i).key;
        const int of_infill = !strncmp(key, "infill.", 7) || !strncmp(key, "bead.", 5) ||
                              !strncmp(key, "flaws.", 6) || !strncmp(key, "model.", 6) ||
                              !strcmp(key, "material.strain_state");
        const int named = !strcmp(key, "infill.pattern") || !strcmp(key, "infill.density");
        if (of_infill && !named && strcmp(key, "flaws.seed"))
            warn_unread(context, request, key, "full");
    }
}

/* The block without holes, under its own name whichever way it was asked for. */
static sp_status settle_solid(sp_context *context, sp_case *request)
{
    if (!sp_case_is_solid(request)) return SP_OK;
    const sp_law_row *law = sp_law_find(request->law);
    if (law && law->history)
        return sp_case_fail_at(
            context, request, "material.law", NULL,
            "a law that is reversible: the solid block (infill.pattern solid, or "
            "a density of 100 %) is not modelled for one that yields",
            NULL);
    if (strcmp(request->pattern, SP_SOLID_NAME) != 0) {
        sp_warn(context,
                "infill.density is 100 %%: the coupon is the solid block, and infill.pattern %s is "
                "not read",
                request->pattern);
        snprintf(request->pattern, sizeof request->pattern, "%s", SP_SOLID_NAME);
        derive(request, "infill.pattern");
    } else {
        warn_of_infill(context, request);
    }
    if (request->density < 1) {
        if (request->origin[sp_case_row_find("infill.density")] == SP_ORIGIN_FILE)
            sp_warn(context, "infill.density %g %% is not read: infill.pattern %s is full",
                    100 * request->density, SP_SOLID_NAME);
        request->density = 1;
        derive(request, "infill.density");
    }
    request->layers = 0;
    return SP_OK;
}

sp_status sp_case_validate_names(sp_context *context, sp_case *request)
{
    int is_spatial = 0;
    sp_status status = sp_case_check(context, request);
    if (status == SP_OK)
        status = check_pattern(context, request, "infill.pattern", request->pattern);
    if (status == SP_OK) status = check_law(context, request);
    if (status == SP_OK) status = check_hardness(context, request);
    if (status == SP_OK) status = settle_solid(context, request);
    if (status == SP_OK) status = check_network_file(context, request);
    if (status == SP_OK) status = find_dimension(context, request, &is_spatial);
    if (status == SP_OK) status = check_layers(context, request, is_spatial);
    if (status == SP_OK) status = check_direction(context, request, is_spatial);
    if (status == SP_OK)
        status = settle_strain_state(context, request,
                                     is_spatial || request->layers ||
                                         request->press_direction == SP_PRESS_ALONG);
    if (status == SP_OK) status = sp_space_derive(context, request);
    if (status != SP_OK) return status;
    if (!sp_case_is_solid(request)) warn_of_dimension(context, request, is_spatial);
    warn_of_unread(context, request);
    derive_modulus(request);
    settle_angle(request);
    return SP_OK;
}
