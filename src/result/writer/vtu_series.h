/* The kept states for any VTK reader: state_000.vtu ... and press.pvd, which lists them against
 * nominal strain. */
#ifndef SP_WRITER_VTU_SERIES_H
#define SP_WRITER_VTU_SERIES_H

#include "write/file_set.h"
#include "run/result.h"

#define SP_VTU_SERIES_FILE "press.pvd"

/* One unstructured grid of straight pieces (VTK cell type 3). Points in mm; cell data: thickness
 * [mm], strut, role (0 infill, 1 wall), fibre_strain. Of a spatial path also, all in mm: point data
 * radius, cell data thickness, height (0: round) and diameter; the tube of a rectangle is as wide
 * as a square of its area. */
sp_status sp_write_vtu(sp_context *context, const sp_path *path, int frame, FILE *stream);

/* Write all frames and the PVD into an open file set, which needs frame_count + 1 places. */
sp_status sp_write_vtu_series(sp_context *context, const sp_path *path, sp_file_set *set);

#endif
