/* The exit statuses and texts of the rows of statuses. */
#include <strutpress/status.h>

int sp_status_exit(sp_status status)
{
    switch (status) {
#define SP_STATUS_CASE(code, exit_status, text)                                                    \
    case code:                                                                                     \
        return exit_status;
        SP_STATUS_ROWS(SP_STATUS_CASE)
#undef SP_STATUS_CASE
    }
    return 1;
}

const char *sp_status_text(sp_status status)
{
    switch (status) {
#define SP_STATUS_CASE(code, exit_status, text)                                                    \
    case code:                                                                                     \
        return text;
        SP_STATUS_ROWS(SP_STATUS_CASE)
#undef SP_STATUS_CASE
    }
    return "unknown status";
}
