/* What a bench answers: one function per place (request/request.h), JSON but for files. */
#ifndef SP_PLACE_PLACE_H
#define SP_PLACE_PLACE_H

#include "reply/reply.h"

/* Answer a request that was read (sp_request_read); `body` are its bytes. There is always an
 * answer: a failure is one, too, with its line. */
void sp_reply_make(sp_desk *desk, const sp_request *request, const char *body, size_t size,
                   sp_reply *reply);
void sp_reply_rows(sp_reply *reply);
void sp_reply_look(sp_desk *desk, json_t *asked, sp_reply *reply);
void sp_reply_press(sp_desk *desk, json_t *asked, sp_reply *reply);
void sp_reply_presses(sp_desk *desk, sp_reply *reply);
void sp_reply_press_from(sp_desk *desk, const sp_request *request, sp_reply *reply);
void sp_reply_again(sp_desk *desk, const sp_request *request, sp_reply *reply);
void sp_reply_stop(sp_desk *desk, const sp_request *request, sp_reply *reply);
void sp_reply_shelf(sp_desk *desk, const sp_request *request, sp_reply *reply);
void sp_reply_coupon(sp_desk *desk, const sp_request *request, sp_reply *reply);
void sp_reply_state(sp_desk *desk, const sp_request *request, sp_reply *reply);
void sp_reply_mesh(sp_desk *desk, const sp_request *request, sp_reply *reply);
void sp_reply_rig(const sp_request *request, const char *body, size_t size, sp_reply *reply);
void sp_reply_seek(sp_desk *desk, json_t *asked, sp_reply *reply);
void sp_reply_seek_now(sp_desk *desk, const sp_request *request, sp_reply *reply);
void sp_reply_save(sp_desk *desk, json_t *asked, sp_reply *reply);
void sp_reply_files(sp_desk *desk, sp_reply *reply);
void sp_reply_file_text(sp_desk *desk, const sp_request *request, sp_reply *reply);
void sp_reply_report(sp_desk *desk, sp_reply *reply);

/* names.c: refuse a plan or a target that names a file outside the folder. Errors: SP_BAD_CASE. */
sp_status sp_names_stay(sp_context *context, const sp_desk *desk, const char *text);

#endif
