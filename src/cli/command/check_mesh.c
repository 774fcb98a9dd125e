/* check of a file of triangles tells the body that it encloses, beside that of a case. */
#include <math.h>

#include "terminal/cli.h"

static const double alike = 0.005; /* relative: size and volume of the mesh against the case */

static void print_size(const sp_mesh_figures *f)
{
    printf("%-26s %.5g x %.5g x %.5g mm%s\n", "size", f->high[0] - f->low[0],
           f->high[1] - f->low[1], f->high[2] - f->low[2],
           f->has_unit ? "" : ", 1 of the file taken as 1 mm");
}

static void print_surface(const sp_mesh_figures *f)
{
    const double *a = f->open_from, *b = f->open_to;
    if (!f->open_edges)
        printf("%-26s closed: every edge is passed as often one way as the other\n", "surface");
    else
        printf("%-26s open at %ld edges, such as (%.5g, %.5g, %.5g) to (%.5g, %.5g, %.5g) mm\n",
               "surface", f->open_edges, a[0], a[1], a[2], b[0], b[1], b[2]);
}

static void print_volume(const sp_mesh_figures *f, double density)
{
    const double box =
        (f->high[0] - f->low[0]) * (f->high[1] - f->low[1]) * (f->high[2] - f->low[2]);
    if (f->open_edges) {
        printf("%-26s not known: an open surface encloses nothing\n", "volume");
        return;
    }
    if (!(f->enclosed > 0)) {
        printf("%-26s not known: the surface %s\n", "volume",
               f->enclosed < 0 ? "is inside out" : "encloses nothing");
        return;
    }
    if (f->uncertain > 0)
        printf("%-26s %.5g mm3 within %.1g %%, %.4g %% of its box; its parts, which overlap, are "
               "%.5g mm3\n",
               "volume", f->volume, 100 * f->uncertain / f->volume, 100 * f->volume / box,
               f->enclosed);
    else
        printf("%-26s %.5g mm3, %.4g %% of its box\n", "volume", f->volume, 100 * f->volume / box);
    printf("%-26s %.4g g at %.4g g/cm3\n", "mass", f->volume * density / 1000, density);
}

static void print_beside(const char *name, double mesh, double other, const char *unit)
{
    printf("%-26s %-12.5g %-12.5g %+.2f %%  %s\n", name, mesh, other, 100 * (mesh / other - 1),
           unit);
}

/* Print the mesh in one column and the case in the next. */
static void compare(sp_context *context, const char *case_file, const sp_mesh_figures *f,
                    const sp_print_summary *body, double density)
{
    int apart = 0;
    printf("\n%-26s %-12s %-12s\n", "", "mesh", shown(case_file));
    for (int k = 0; k < 3; k++) {
        const double size = f->high[k] - f->low[k];
        const char name[] = {"xyz"[k], 0};
        print_beside(name, size, body->size[k], "mm");
        apart |= !(fabs(size - body->size[k]) <= alike * body->size[k]);
    }
    if (f->volume > 0) {
        print_beside("volume", f->volume, body->volume, "mm3");
        print_beside("mass", f->volume * density / 1000, body->mass, "g");
        apart |= !(fabs(f->volume - body->volume) <= alike * body->volume + f->uncertain);
    }
    if (apart)
        sp_warn(context,
                "the mesh and the body of the case are more than %g %% apart: a press of the case "
                "says nothing about the mesh",
                100 * alike);
}

static sp_status read_beside(sp_context *context, const sp_case *request, sp_print_summary *body)
{
    sp_resolved resolved;
    const sp_print_options as_written = {0};
    sp_status status = sp_case_resolve(context, request, &resolved);
    if (status == SP_OK) status = sp_print_body(context, &resolved, &as_written, body);
    sp_resolved_free(&resolved);
    return status;
}

sp_status check_mesh(const case_options *options)
{
    sp_context context = {0};
    sp_case request;
    sp_mesh_figures f;
    sp_print_summary body = {0};
    case_options of_case = *options;
    of_case.file = options->beside;
    sp_status status = read_case(&context, &of_case, &request);
    if (status != SP_OK) return status;
    start_talk(&context, options->quiet);
    status = sp_mesh_read(&context, options->file, &f);
    if (status == SP_OK && options->beside) status = read_beside(&context, &request, &body);
    end_talk(1); /* no progress line under the figures */
    if (status == SP_OK) {
        printf("%-26s %s, %ld triangles, %ld corners, %d connected %s\n", "mesh", f.format,
               f.triangles, f.corners, f.parts, f.parts == 1 ? "part" : "parts");
        if (f.flat)
            printf("%-26s %ld, of which two corners are one: left out\n", "flat triangles", f.flat);
        print_size(&f);
        print_surface(&f);
        print_volume(&f, request.solid_density);
        if (options->beside) compare(&context, options->beside, &f, &body, request.solid_density);
    }
    end_talk(options->quiet || status != SP_OK);
    return status == SP_OK ? SP_OK : fail_with(&context, status);
}
