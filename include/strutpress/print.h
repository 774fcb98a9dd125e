/* What goes to a printer: the coupon as a closed surface of triangles, and as a path of beads.
 *
 * Units: mm, mm/s, g. Ownership: nothing is kept. Errors: each function names its own. Threads:
 * from several at once, each with its own context.
 *
 * A prediction that was pressed is not proof of a part, and a path moves a machine: whoever runs it
 * answers for start, end, temperatures and limits of that machine. */
#ifndef STRUTPRESS_PRINT_H
#define STRUTPRESS_PRINT_H

#include <strutpress/resolve.h>

SP_PUBLIC_BEGIN

/* With all of these zero the coupon is as designed, with its walls, as wide as drawn. */
typedef struct sp_print_options {
    int with_flaws;     /* the flaws that a press would take; a print has its own */
    int without_walls;  /* the infill alone, for walls that are added elsewhere */
    double width_scale; /* multiplies widths of beads and walls and diameters; 0: 1 */
} sp_print_options;

typedef struct sp_print_summary {
    int triangles, shells; /* shells: closed parts, of struts in space one each, which overlap */
    double size[3];        /* of the box around it [mm] */
    double volume;         /* of the body; where shells overlap it is there once [mm3] */
    double mass;           /* of that volume [g] */
    double within; /* of it, within the coupon: what the solid fraction counts. Struts on the
                      faces of a block stand out by half. NaN: widths are scaled [mm3] */
} sp_print_summary;

#define SP_PRINT_3MF "coupon.3mf"
#define SP_PRINT_STL "coupon.stl"
#define SP_PRINT_PATH "coupon.path"

/* Write the body of a coupon into a folder as 3MF (ISO/IEC 25422) and as binary STL, both or
 * neither. `summary` may be NULL. Errors: those of sp_network_build, SP_NO_WRITE, SP_NO_MEMORY,
 * SP_INTERNAL. */
sp_status sp_print_mesh(sp_context *context, const sp_resolved *resolved,
                        const sp_print_options *options, const char *folder,
                        sp_print_summary *summary);

/* Find the size, volume and mass of that body, without any file. Errors: those of sp_network_build,
 * SP_NO_MEMORY, SP_INTERNAL. */
sp_status sp_print_body(sp_context *context, const sp_resolved *resolved,
                        const sp_print_options *options, sp_print_summary *summary);

/* These are the options of a path of beads. A member that is 0 takes the value named beside it. */
typedef struct sp_bead_path_options {
    sp_print_options print; /* width_scale 0 */
    double bed[3];          /* reach of the machine from 0 along x, y, z [mm]; must be given */
    double corner[2];       /* where the corner of the coupon stands; NaN: in the middle [mm] */
    double layer_height;    /* 0.2; the layers of a coupon are as high as divides its height [mm] */
    double filament;        /* diameter, 1.75 [mm] */
    double speed;           /* along a bead, 20 [mm/s] */
    double travel_speed;    /* between beads, 100 [mm/s] */
} sp_bead_path_options;

typedef struct sp_bead_path_summary {
    int layers, lines;           /* layers of the print; unbroken lines of beads in all layers */
    double bead_length;          /* [mm] */
    double travel_length;        /* within layers [mm] */
    double filament_length;      /* metered [mm] */
    double volume, seconds;      /* of the beads [mm3]; of the motion alone [s] */
    double low[2], high[2], top; /* box of the centrelines on the bed, and their height [mm] */
} sp_bead_path_summary;

/* Write the beads of a coupon of planar layers into a folder, as motion in words of ISO 6983: G21,
 * G90, M83, then G0 and G1 with X, Y, Z, E, F, without temperatures and without anything that sets
 * a machine up. E is the length of filament whose volume is length x h x w, h the height of a
 * layer and w the drawn width of the bead, so that the print weighs what the network does. Errors:
 * SP_BAD_CASE (no planar layers, a bead lower than wide, a coupon beyond the bed), those of
 * sp_network_build, SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_print_path(sp_context *context, const sp_resolved *resolved,
                        const sp_bead_path_options *options, const char *folder,
                        sp_bead_path_summary *summary);

SP_PUBLIC_END

#endif
