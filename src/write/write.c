/* The table of writers, and all of them into one folder. */
#include "write/file_set.h"
#include "write/vtu_series.h"
#include "write/writer_list.h"

static const sp_writer_row rows[] = {
#define SP_WRITER_ROW(id, name, file, doc) {name, file, doc, sp_writer_##id},
    SP_WRITER_LIST(SP_WRITER_ROW)
#undef SP_WRITER_ROW
};
enum { ROW_COUNT = sizeof rows / sizeof rows[0] };

const sp_writer_row *sp_writer_rows(int *count)
{
    *count = ROW_COUNT;
    return rows;
}

sp_status sp_write_all(sp_context *context, const sp_result *result, const char *folder)
{
    sp_file_set set;
    int files = ROW_COUNT + result->path.shapes.frame_count + 1; /* + 1: the PVD */
    sp_status status = sp_file_set_begin(context, &set, folder, files);
    for (int i = 0; i < ROW_COUNT && status == SP_OK; i++) {
        status = sp_file_set_open(context, &set, rows[i].file);
        if (status == SP_OK) status = rows[i].write(context, result, set.stream);
        status = sp_file_set_close(context, &set, status);
    }
    if (status == SP_OK) status = sp_write_vtu_series(context, &result->path, &set);
    status = sp_file_set_end(context, &set, status);
    if (status == SP_OK) sp_vtu_series_trim(folder, result->path.shapes.frame_count);
    return status;
}
