/* This makes a case from the words KEY=VALUE of a command line. */
#ifndef BENCHMARKS_CASE_WORDS_H
#define BENCHMARKS_CASE_WORDS_H

#include <string.h>

#include <strutpress/case.h>

/* Set the values of `count` words on top of the defaults; each word is cut at its sign "=". */
static inline sp_status case_of_words(sp_context *context, int count, char **word, sp_case *request)
{
    sp_status status = SP_OK;
    sp_case_default(request);
    for (int i = 0; i < count && status == SP_OK; i++) {
        char *value = strchr(word[i], '=');
        if (!value) return sp_fail(context, SP_BAD_USAGE, "%s: no value", word[i]);
        *value++ = 0;
        status = sp_case_set(context, request, word[i], value);
    }
    return status;
}

#endif
