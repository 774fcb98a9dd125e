/* The table of writers, and writing all of them into one folder. */
#include "write/file_set.h"
#include "writer/vtu_series.h"
#include "writer/writer_list.h"

static const sp_writer_row rows[] = {
#define SP_WRITER_ROW(id, name, file, doc, takes) {name, file, doc, takes, sp_writer_##id},
    SP_WRITER_LIST(SP_WRITER_ROW)
#undef SP_WRITER_ROW
};
enum { ROW_COUNT = sizeof rows / sizeof rows[0] };

const sp_writer_row *sp_writer_rows(int *count)
{
    *count = ROW_COUNT;
    return rows;
}

static int is_for(const sp_writer_row *row, const sp_result *result)
{
    const sp_network *network = &result->network;
    if ((row->takes & SP_WRITER_TIME) && result->path.stage_count == 0) return 0;
    return !(row->takes & SP_WRITER_STRUTS) || network->built != SP_BUILT_SOLID;
}

/* Write one row into the set; nothing when it is not for this network. */
static sp_status write_row(sp_context *context, const sp_writer_row *row, const sp_result *result,
                           sp_file_set *set)
{
    if (!is_for(row, result)) return SP_OK;
    sp_status status = sp_file_set_open(context, set, row->file);
    if (status == SP_OK) status = row->write(context, result, set->stream);
    return sp_file_set_close(context, set, status);
}

sp_status sp_write_network(sp_context *context, const sp_resolved *resolved,
                           const sp_network *network, const char *folder,
                           void (*written)(const char *file, const char *doc))
{
    sp_file_set set;
    sp_result result = {.request = resolved->request, .network = *network};
    sp_status status = SP_OK;
    if (result.request.flaw_seed) status = sp_resolved_network(context, resolved, 0, &result.plain);
    if (status == SP_OK) status = sp_file_set_begin(context, &set, folder, "network", ROW_COUNT);
    if (status != SP_OK) goto done;
    for (int i = 0; i < ROW_COUNT && status == SP_OK; i++)
        if (rows[i].takes & SP_WRITER_NETWORK) status = write_row(context, &rows[i], &result, &set);
    status = sp_file_set_end(context, &set, status);
    for (int i = 0; i < ROW_COUNT && status == SP_OK && written; i++)
        if ((rows[i].takes & SP_WRITER_NETWORK) && is_for(&rows[i], &result))
            written(rows[i].file, rows[i].doc);
done:
    sp_network_free(&result.plain);
    return status;
}

sp_status sp_write_all(sp_context *context, const sp_result *result, const char *folder)
{
    sp_file_set set;
    int files = ROW_COUNT + result->path.shapes.frame_count + 1; /* one more for the PVD */
    sp_status status = sp_file_set_begin(context, &set, folder, "press", files);
    for (int i = 0; i < ROW_COUNT && status == SP_OK; i++)
        status = write_row(context, &rows[i], result, &set);
    if (status == SP_OK) status = sp_write_vtu_series(context, &result->path, &set);
    return sp_file_set_end(context, &set, status);
}

sp_status sp_write_try(sp_context *context, const char *folder)
{
    const char *name[ROW_COUNT + 1];
    int count = 0;
    for (int i = 0; i < ROW_COUNT; i++) name[count++] = rows[i].file;
    name[count++] = SP_VTU_SERIES_FILE;
    return sp_file_set_try(context, folder, "press", count, name);
}

sp_status sp_folder_try(sp_context *context, const char *folder)
{
    return sp_file_set_try(context, folder, "try", 0, NULL);
}
