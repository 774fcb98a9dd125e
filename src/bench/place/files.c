/* Files of the folder: what stands there, cases as values of a form, and what a page saves. */
#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <strutpress/batch.h>
#include <strutpress/report.h>

#include "place/place.h"
#include "base/alloc.h"
#include "write/json.h"

enum { FILES_MAX = 2000, TEXT_MOST = 1024 * 1024, PAGE_MOST = 256 * 1024 * 1024 };

static int ends_as(const char *name, const char *ending)
{
    const size_t length = strlen(name), tail = strlen(ending);
    return length > tail && !strcmp(name + length - tail, ending);
}

static const char *kind_of(const sp_desk *desk, const char *name)
{
    char path[SP_FILE_SIZE];
    if (!ends_as(name, ".yaml") && !ends_as(name, ".yml")) return "other";
    if (!sp_desk_path(desk, "", name, path)) return "other";
    switch (sp_file_kind_of(path)) {
    case SP_FILE_CASE:
        return "case";
    case SP_FILE_PLAN:
        return "plan";
    default:
        return "target";
    }
}

static int compare_names(const void *left, const void *right)
{
    return strcmp(*(char *const *)left, *(char *const *)right);
}

void sp_reply_files(sp_desk *desk, sp_reply *reply)
{
    int failed = 0, count = 0;
    char *name[FILES_MAX], path[SP_FILE_SIZE];
    json_t *all = json_object(), *list = json_array();
    DIR *folder = opendir(desk->folder);
    for (struct dirent *entry; folder && count < FILES_MAX && (entry = readdir(folder)) != NULL;)
        if (sp_request_name_is_plain(entry->d_name) && sp_desk_has_file(desk, entry->d_name))
            if ((name[count] = strdup(entry->d_name)) != NULL) count++;
    if (folder) closedir(folder);
    qsort(name, (size_t)count, sizeof *name, compare_names);
    for (int i = 0; i < count; i++) {
        struct stat found;
        json_t *one = json_object();
        sp_desk_path(desk, "", name[i], path);
        sp_json_put(one, "name", sp_json_text(name[i]), &failed);
        sp_json_put(one, "kind", sp_json_text(kind_of(desk, name[i])), &failed);
        sp_json_put(one, "bytes", json_integer(stat(path, &found) ? 0 : found.st_size), &failed);
        sp_json_append(list, one, &failed);
        free(name[i]);
    }
    sp_json_put(all, "files", list, &failed);
    sp_reply_json(reply, 200, all, failed);
}

static void reply_values(const char *path, sp_reply *reply)
{
    sp_context context = {0};
    sp_case request;
    int failed = 0;
    const sp_status status = sp_case_read(&context, path, &request);
    if (status != SP_OK) {
        sp_reply_status(reply, &context, status, NULL);
        return;
    }
    json_t *all = json_object();
    sp_json_put(all, "values", sp_values_of_case(&request, &failed), &failed);
    sp_reply_json(reply, 200, all, failed);
}

void sp_reply_file_text(sp_desk *desk, const sp_request *request, sp_reply *reply)
{
    sp_context context = {0};
    char path[SP_FILE_SIZE], *text = NULL;
    size_t size = 0;
    if (!sp_desk_has_file(desk, request->name) || !sp_desk_path(desk, "", request->name, path)) {
        sp_reply_fail(reply, 404, "there is no such file in the folder of the bench", NULL);
        return;
    }
    if (request->text[0]) {
        reply_values(path, reply);
        return;
    }
    const sp_status status = sp_desk_read(&context, path, TEXT_MOST, &text, &size);
    if (status != SP_OK) {
        sp_reply_status(reply, &context, status, NULL);
        return;
    }
    sp_reply_file(reply, text, size, "text/plain; charset=utf-8");
}

/* ---- saving ----------------------------------------------- */

/* A plan or a target is read before it is saved, so that the command line takes it. */
static sp_status check_text(sp_context *context, const sp_desk *desk, const char *kind,
                            const char *path, const char *text)
{
    sp_target *target = NULL;
    sp_plan *plan = NULL;
    sp_status status = sp_names_stay(context, desk, text);
    if (status != SP_OK) return status;
    if (!strcmp(kind, "target")) {
        status = sp_target_parse(context, path, text, strlen(text), &target);
        sp_target_free(target);
    } else {
        status = sp_plan_parse(context, path, text, strlen(text), &plan);
        sp_plan_free(plan);
    }
    return status;
}

void sp_reply_save(sp_desk *desk, json_t *asked, sp_reply *reply)
{
    sp_context context = {0};
    sp_case request;
    char key[SP_NAME_SIZE] = "", path[SP_FILE_SIZE];
    const char *kind = json_string_value(json_object_get(asked, "kind"));
    const char *name = json_string_value(json_object_get(asked, "name"));
    const char *text = json_string_value(json_object_get(asked, "text"));
    int failed = 0;
    if (!kind ||
        (strcmp(kind, "case") != 0 && strcmp(kind, "plan") != 0 && strcmp(kind, "target") != 0)) {
        sp_reply_fail(reply, 400, "kind: valid: case, plan, target", NULL);
        return;
    }
    if (!name || !sp_request_name_is_plain(name) || !ends_as(name, ".yaml") ||
        !sp_desk_path(desk, "", name, path)) {
        sp_reply_fail(reply, 400,
                      "name: valid: letters, digits and - _ . with .yaml at the end, up to 63",
                      NULL);
        return;
    }
    sp_status status;
    /* A file of the user is replaced only when the user says so. */
    if (sp_desk_has_anything(desk, name) && !json_is_true(json_object_get(asked, "replace"))) {
        sp_reply_fail(reply, 409,
                      "a file of this name stands in the folder already; valid: another name, or "
                      "open it first",
                      NULL);
        return;
    }
    if (!strcmp(kind, "case")) {
        status = sp_values_case(&context, desk, json_object_get(asked, "values"), &request, key);
        if (status == SP_OK) status = sp_desk_write_case(&context, path, &request);
    } else {
        status = text ? check_text(&context, desk, kind, path, text)
                      : sp_fail(&context, SP_BAD_CASE, "text: valid: the text of the file");
        if (status == SP_OK) status = sp_desk_write(&context, path, text, strlen(text));
    }
    if (status != SP_OK) {
        sp_reply_status(reply, &context, status, key);
        return;
    }
    json_t *all = json_object();
    sp_json_put(all, "path", sp_json_text(name), &failed);
    sp_reply_json(reply, 201, all, failed);
}

/* ---- the report ----------------------------------------------- */

/* Its states are those of the page of `strutpress report`; in the bench the shelf shows them. */
void sp_reply_report(sp_desk *desk, sp_reply *reply)
{
    sp_context context = {.interrupt = desk->interrupt};
    const sp_report_options options = {.states = 0};
    sp_report_summary summary;
    char path[SP_FILE_SIZE], *text = NULL;
    size_t size = 0;
    sp_desk_path(desk, "", "report.html", path);
    sp_status status =
        sp_desk_keeps(desk, "report.html")
            ? SP_OK
            : sp_fail(&context, SP_NO_WRITE, "report.html: is a link out of the folder");
    if (status == SP_OK) status = sp_report_store(&context, desk->store, &options, path, &summary);
    if (status == SP_OK) status = sp_desk_read(&context, path, PAGE_MOST, &text, &size);
    if (status != SP_OK) {
        sp_reply_status(reply, &context, status, NULL);
        return;
    }
    sp_reply_file(reply, text, size, "text/html; charset=utf-8");
}
