/* Write VTK XML files of the kept states, in plain numbers; see vtu_series.h. Format: VTK file
 * formats, XML UnstructuredGrid. */
#include "writer/vtu_series.h"

#include "shape/isometric.h"
#include "shape/shape_picture.h"
#include "write/text.h"

static const int line_cell = 3;

static int piece_count(const sp_shapes *shapes)
{
    return shapes->point_count - shapes->strut_count;
}

/* Time of a frame in the series: the travel of the platen over the height. It grows on the way
 * back, too. */
static double frame_travel(const sp_path *path, int frame)
{
    const int number = path->shapes.frame_step[frame];
    const sp_step *step = sp_path_state(path, number);
    if (!step) return 0.0;
    const double strain = sp_finite(step->shortening / path->size[1]);
    if (number < path->step_count) return strain;
    return 2 * sp_finite(sp_path_strain(path, path->step_count - 1)) - strain;
}

static void begin_array(FILE *stream, const char *type, const char *name, int components)
{
    sp_print(stream,
             "<DataArray type=\"%s\" Name=\"%s\" NumberOfComponents=\"%d\" format=\"ascii\">\n",
             type, name, components);
}

static void end_array(FILE *stream)
{
    sp_print(stream, "</DataArray>\n");
}

static void put_points(const sp_shapes *shapes, const double *position, FILE *stream)
{
    sp_print(stream, "<Points>\n");
    begin_array(stream, "Float64", "position_mm", 3);
    for (int p = 0; p < shapes->point_count; p++)
        sp_print(stream, "%.7g %.7g %.7g\n", sp_finite(position[3 * p]),
                 sp_finite(position[3 * p + 1]), sp_finite(position[3 * p + 2]));
    end_array(stream);
    sp_print(stream, "</Points>\n");
}

static void put_cells(const sp_shapes *shapes, FILE *stream)
{
    sp_print(stream, "<Cells>\n");
    begin_array(stream, "Int32", "connectivity", 1);
    for (int s = 0; s < shapes->strut_count; s++)
        for (int p = shapes->first_point[s]; p + 1 < shapes->first_point[s + 1]; p++)
            sp_print(stream, "%d %d\n", p, p + 1);
    end_array(stream);
    begin_array(stream, "Int32", "offsets", 1);
    for (int i = 1; i <= piece_count(shapes); i++) sp_print(stream, "%d\n", 2 * i);
    end_array(stream);
    begin_array(stream, "UInt8", "types", 1);
    for (int i = 0; i < piece_count(shapes); i++) sp_print(stream, "%d\n", line_cell);
    end_array(stream);
    sp_print(stream, "</Cells>\n");
}

/* ---- data ------------------------------------------------------------------------------------ */

typedef enum { THICKNESS_MM, STRUT, ROLE, FIBRE_STRAIN, THICKNESS, HEIGHT, DIAMETER } cell_array;
enum { PLANAR_ARRAYS = 4, SPATIAL_ARRAYS = 7 };
static const struct {
    const char *type, *name;
} cell_rows[SPATIAL_ARRAYS] = {
    [THICKNESS_MM] = {"Float64", "thickness_mm"},
    [STRUT] = {"Int32", "strut"},
    [ROLE] = {"Int32", "role"},
    [FIBRE_STRAIN] = {"Float64", "fibre_strain"},
    [THICKNESS] = {"Float64", "thickness"},
    [HEIGHT] = {"Float64", "height"},
    [DIAMETER] = {"Float64", "diameter"},
};

/* Return one value of strut s, for its piece that starts at point p. */
static void put_value(const sp_shapes *shapes, const double *fibre_strain, cell_array array, int s,
                      int p, FILE *stream)
{
    switch (array) {
    case STRUT:
        sp_print(stream, "%d\n", s);
        return;
    case ROLE:
        sp_print(stream, "%d\n", shapes->role[s]);
        return;
    case FIBRE_STRAIN:
        sp_print(stream, "%.6g\n", sp_finite(fibre_strain[p]));
        return;
    case HEIGHT:
        sp_print(stream, "%.6g\n", sp_finite(shapes->height[s]));
        return;
    case DIAMETER:
        sp_print(stream, "%.6g\n", sp_shape_width(shapes, s));
        return;
    default:
        sp_print(stream, "%.6g\n", sp_finite(shapes->thickness[s]));
    }
}

static void put_cell_data(const sp_shapes *shapes, const double *fibre_strain, FILE *stream)
{
    const int arrays = sp_shapes_spatial(shapes) ? SPATIAL_ARRAYS : PLANAR_ARRAYS;
    sp_print(stream, "<CellData>\n");
    for (int a = 0; a < arrays; a++) {
        begin_array(stream, cell_rows[a].type, cell_rows[a].name, 1);
        for (int s = 0; s < shapes->strut_count; s++)
            for (int p = shapes->first_point[s]; p + 1 < shapes->first_point[s + 1]; p++)
                put_value(shapes, fibre_strain, (cell_array)a, s, p, stream);
        end_array(stream);
    }
    sp_print(stream, "</CellData>\n");
}

/* Write the radii that a tube filter needs at the points. */
static void put_point_data(const sp_shapes *shapes, FILE *stream)
{
    sp_print(stream, "<PointData Scalars=\"radius\">\n");
    begin_array(stream, "Float64", "radius", 1);
    for (int s = 0; s < shapes->strut_count; s++)
        for (int p = shapes->first_point[s]; p < shapes->first_point[s + 1]; p++)
            sp_print(stream, "%.6g\n", 0.5 * sp_shape_width(shapes, s));
    end_array(stream);
    sp_print(stream, "</PointData>\n");
}

sp_status sp_write_vtu(sp_context *context, const sp_path *path, int frame, FILE *stream)
{
    const sp_shapes *shapes = &path->shapes;
    sp_print(stream,
             "<?xml version=\"1.0\"?>\n<VTKFile type=\"UnstructuredGrid\" version=\"0.1\" "
             "byte_order=\"LittleEndian\">\n<UnstructuredGrid>\n"
             "<Piece NumberOfPoints=\"%d\" NumberOfCells=\"%d\">\n",
             shapes->point_count, piece_count(shapes));
    if (sp_shapes_spatial(shapes)) put_point_data(shapes, stream);
    put_points(shapes, sp_frame_position(shapes, frame), stream);
    put_cells(shapes, stream);
    put_cell_data(shapes, shapes->fibre_strain + (size_t)frame * (size_t)shapes->point_count,
                  stream);
    sp_print(stream, "</Piece>\n</UnstructuredGrid>\n</VTKFile>\n");
    return sp_stream_end(context, stream);
}

static void frame_name(int frame, char name[SP_SET_NAME_SIZE])
{
    sp_format(name, SP_SET_NAME_SIZE, "state_%03d.vtu", frame);
}

static sp_status write_pvd(sp_context *context, const sp_path *path, FILE *stream)
{
    char name[SP_SET_NAME_SIZE];
    sp_print(stream, "<?xml version=\"1.0\"?>\n<VTKFile type=\"Collection\" version=\"0.1\" "
                     "byte_order=\"LittleEndian\">\n<Collection>\n");
    for (int frame = 0; frame < path->shapes.frame_count; frame++) {
        frame_name(frame, name);
        sp_print(stream, "<DataSet timestep=\"%.8g\" group=\"\" part=\"0\" file=\"%s\"/>\n",
                 frame_travel(path, frame), name);
    }
    sp_print(stream, "</Collection>\n</VTKFile>\n");
    return sp_stream_end(context, stream);
}

sp_status sp_write_vtu_series(sp_context *context, const sp_path *path, sp_file_set *set)
{
    char name[SP_SET_NAME_SIZE];
    sp_status status = SP_OK;
    if (path->block != SP_BLOCK_NONE) return SP_OK; /* a block has no points */
    for (int frame = 0; frame < path->shapes.frame_count && status == SP_OK; frame++) {
        frame_name(frame, name);
        status = sp_file_set_open(context, set, name);
        if (status == SP_OK) status = sp_write_vtu(context, path, frame, set->stream);
        status = sp_file_set_close(context, set, status);
    }
    if (status == SP_OK) status = sp_file_set_open(context, set, SP_VTU_SERIES_FILE);
    if (status == SP_OK) status = write_pvd(context, path, set->stream);
    return sp_file_set_close(context, set, status);
}
