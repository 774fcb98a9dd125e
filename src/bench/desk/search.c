/* One search of a bench: it works like `seek`, through the store of the bench; its answers are
 * files in a folder of its own. */
#include <stdlib.h>
#include <string.h>

#include "desk/desk.h"

static sp_status keep_answer(sp_context *context, const sp_desk *desk, const sp_task *task,
                             const sp_answer *answer, char **text)
{
    char folder[SP_FILE_SIZE];
    size_t size = 0;
    sp_status status = sp_desk_make_folder(context, desk, task->folder);
    if (status == SP_OK && sp_desk_path(desk, "", task->folder, folder))
        status = sp_answer_write(context, answer, folder);
    if (status != SP_OK) return status;
    FILE *stream = open_memstream(text, &size);
    if (!stream) return sp_fail(context, SP_NO_MEMORY, "no memory for the answers");
    status = sp_answer_records(context, answer, SP_FORMAT_JSON, stream);
    fclose(stream);
    return status;
}

void sp_desk_search(sp_desk *desk, sp_task *task)
{
    sp_context context = {
        .interrupt = &task->interrupt, .progress = sp_task_keep_progress, .user = task};
    sp_answer *answer = NULL;
    char *text = NULL;
    sp_task_begin(task);
    sp_status status = sp_seek(&context, task->target, desk->store, 0, &answer);
    if (status == SP_OK) status = keep_answer(&context, desk, task, answer, &text);
    sp_answer_free(answer);
    pthread_mutex_lock(&desk->lock);
    sp_task_end(task,
                status == SP_OK            ? SP_TASK_DONE
                : status == SP_INTERRUPTED ? SP_TASK_STOPPED
                                           : SP_TASK_FAILED,
                status == SP_OK ? "" : context.message);
    task->answer = text;
    pthread_mutex_unlock(&desk->lock);
}
