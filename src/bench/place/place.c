/* Turn a request into its answer; see place.h. */
#include "place/place.h"

static void reply_to_object(sp_desk *desk, const sp_request *request, json_t *asked,
                            sp_reply *reply)
{
    switch (request->kind) {
    case SP_REQUEST_LOOK:
        sp_reply_look(desk, asked, reply);
        break;
    case SP_REQUEST_PRESS:
        sp_reply_press(desk, asked, reply);
        break;
    case SP_REQUEST_SEEK:
        sp_reply_seek(desk, asked, reply);
        break;
    default:
        sp_reply_save(desk, asked, reply);
    }
}

void sp_reply_make(sp_desk *desk, const sp_request *request, const char *body, size_t size,
                   sp_reply *reply)
{
    json_t *asked;
    *reply = (sp_reply){0};
    switch (request->kind) {
    case SP_REQUEST_ROWS:
        sp_reply_rows(reply);
        break;
    case SP_REQUEST_LOOK:
    case SP_REQUEST_PRESS:
    case SP_REQUEST_SEEK:
    case SP_REQUEST_SAVE:
        asked = sp_reply_object(reply, body, size);
        if (asked) reply_to_object(desk, request, asked, reply);
        json_decref(asked);
        break;
    case SP_REQUEST_PRESSES:
        sp_reply_presses(desk, reply);
        break;
    case SP_REQUEST_PRESS_FROM:
        sp_reply_press_from(desk, request, reply);
        break;
    case SP_REQUEST_PRESS_STOP:
    case SP_REQUEST_SEEK_STOP:
        sp_reply_stop(desk, request, reply);
        break;
    case SP_REQUEST_PRESS_AGAIN:
        sp_reply_again(desk, request, reply);
        break;
    case SP_REQUEST_SHELF:
        sp_reply_shelf(desk, request, reply);
        break;
    case SP_REQUEST_COUPON:
        sp_reply_coupon(desk, request, reply);
        break;
    case SP_REQUEST_STATE:
        sp_reply_state(desk, request, reply);
        break;
    case SP_REQUEST_MESH:
        sp_reply_mesh(desk, request, reply);
        break;
    case SP_REQUEST_RIG:
        sp_reply_rig(request, body, size, reply);
        break;
    case SP_REQUEST_SEEK_NOW:
        sp_reply_seek_now(desk, request, reply);
        break;
    case SP_REQUEST_FILES:
        sp_reply_files(desk, reply);
        break;
    case SP_REQUEST_FILE_TEXT:
        sp_reply_file_text(desk, request, reply);
        break;
    case SP_REQUEST_REPORT:
        sp_reply_report(desk, reply);
        break;
    default:
        sp_reply_fail(reply, 404, "there is no such place", NULL);
    }
}
