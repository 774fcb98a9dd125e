/* Write the one line of every refusal, and find the nearest known name. */
#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "case/case_parts.h"

void sp_case_excerpt(const char *text, char excerpt[SP_EXCERPT_SIZE])
{
    size_t length = strnlen(text, SP_EXCERPT_SIZE);
    if (length < SP_EXCERPT_SIZE - 3) {
        memcpy(excerpt, text, length + 1);
        return;
    }
    length = SP_EXCERPT_SIZE - 4;
    while (length && ((unsigned char)text[length] & 0xC0) == 0x80)
        length--; /* the cut is inside a character */
    memcpy(excerpt, text, length);
    memcpy(excerpt + length, "...", 4);
}

void sp_case_add_name(char *list, size_t size, const char *name)
{
    const size_t used = strlen(list);
    if (used < size) snprintf(list + used, size - used, "%s%s", used ? ", " : "", name);
}

sp_status sp_case_fail(sp_context *context, const char *source, int line, const char *key,
                       const char *received, const char *valid, const char *nearest)
{
    char place[SP_EXCERPT_SIZE * 5], value[SP_EXCERPT_SIZE], name[SP_EXCERPT_SIZE] = "";
    size_t length = strlen(source), room = sizeof place - 16;
    /* The end of a path says most. */
    const char *tail = length > room ? source + length - room : source;
    if (line > 0)
        snprintf(place, sizeof place, "%s:%d: ", tail, line);
    else if (length)
        snprintf(place, sizeof place, "%s: ", tail);
    else
        place[0] = 0;
    sp_case_excerpt(received, value);
    sp_case_excerpt(key, name);
    int ask = nearest && nearest[0];
    return sp_fail(context, SP_BAD_CASE, "%s%s%sreceived '%s'; valid: %s%s%s%s", place, name,
                   name[0] ? ": " : "", value, valid, ask ? " (did you mean '" : "",
                   ask ? nearest : "", ask ? "'?)" : "");
}

sp_status sp_case_fail_at(sp_context *context, const sp_case *request, const char *key,
                          const char *received, const char *valid, const char *nearest)
{
    char value[SP_FILE_SIZE] = "";
    int row = sp_case_row_find(key);
    if (!received && row >= 0) sp_case_value_text(request, row, value, sizeof value);
    return sp_case_fail(context, request->source, row >= 0 ? request->line[row] : 0, key,
                        received ? received : value, valid, nearest);
}

static int same_letter(char a, char b)
{
    return tolower((unsigned char)a) == tolower((unsigned char)b);
}

static int smaller(int a, int b)
{
    return a < b ? a : b;
}

/* Optimal string alignment distance: Damerau 1964 with each pair of neighbours swapped at most
 * once. */
static int edit_distance(const char *a, size_t na, const char *b, size_t nb)
{
    int table[3][SP_NAME_SIZE + 1] = {{0}};
    for (size_t j = 0; j <= nb; j++) table[0][j] = (int)j;
    for (size_t i = 1; i <= na; i++) {
        int *now = table[i % 3], *last = table[(i + 2) % 3], *before = table[(i + 1) % 3];
        now[0] = (int)i;
        for (size_t j = 1; j <= nb; j++) {
            now[j] = last[j - 1] + !same_letter(a[i - 1], b[j - 1]);
            now[j] = smaller(now[j], smaller(last[j], now[j - 1]) + 1);
            if (i > 1 && j > 1 && same_letter(a[i - 1], b[j - 2]) &&
                same_letter(a[i - 2], b[j - 1]))
                now[j] = smaller(now[j], before[j - 2] + 1);
        }
    }
    return table[na % 3][nb];
}

void sp_nearest_offer(sp_nearest *nearest, const char *received, const char *known)
{
    size_t na = strnlen(received, SP_NAME_SIZE + 1), nb = strlen(known);
    /* a name that is further away is another word. */
    const int allowed = (int)(nb < 4 ? 1 : 1 + nb / 4);
    if (!na || na > SP_NAME_SIZE || nb >= SP_NAME_SIZE) return;
    if ((na > nb ? na - nb : nb - na) > (size_t)allowed) return; /* each letter more is one edit */
    int distance = edit_distance(received, na, known, nb);
    if (distance > allowed) return;
    if (!nearest->name[0] || distance < nearest->distance) {
        memcpy(nearest->name, known, nb + 1);
        nearest->distance = distance;
    }
}
