/* What a refused number was probably meant to be: a share without its sign, a decimal comma, a unit
 * of another system, a hardness with its scale. A guess is offered only when the row would take it.
 */
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "case/case_parts.h"

/* Units that a row does not know, and how many of its own units one of them is (exact, or to six
 * digits; the pound-force of 4.4482216152605 N and the psi of 6894.757 Pa were read in public lists
 * of units). */
static const struct {
    const char *unit, *foreign;
    double factor;
} others[] = {
    {"mm", "in", 25.4},      {"mm", "inch", 25.4},       {"mm", "inches", 25.4},
    {"mm", "\"", 25.4},      {"mm", "mil", 0.0254},      {"mm", "ft", 304.8},
    {"N", "lbf", 4.4482216}, {"N", "lb", 4.4482216},     {"N", "kgf", 9.80665},
    {"N", "kg", 9.80665},    {"MPa", "psi", 0.00689476}, {"MPa", "ksi", 6.89476},
    {"MPa", "bar", 0.1},     {"MPa", "Pa", 1e-6},        {"deg", "°", 1},
    {"deg", "degree", 1},    {"deg", "degrees", 1},      {"g/cm3", "g/cc", 1},
    {"g/cm3", "g/ml", 1},    {"%", "percent", 1},        {"%", "pct", 1},
};

static int would_take(int row, const char *text)
{
    sp_case trial;
    sp_case_default(&trial);
    return sp_case_row_parse(&trial, row, text);
}

static int offer(int row, const char *text, char guess[SP_NAME_SIZE])
{
    if (!would_take(row, text)) return 0;
    snprintf(guess, SP_NAME_SIZE, "%s", text);
    return 1;
}

/* Change "12,5 %" to "12.5 %". "1,000" stays, because it may mean a thousand. */
static int without_comma(const char *text, char plain[SP_NAME_SIZE])
{
    snprintf(plain, SP_NAME_SIZE, "%s", text);
    char *comma = strchr(plain, ',');
    if (!comma || strchr(comma + 1, ',') || strchr(plain, '.')) return 0;
    const size_t digits = strspn(comma + 1, "0123456789");
    if (!digits || (digits == 3 && atof(plain) > 0)) return 0;
    *comma = '.';
    return 1;
}

/* Find `word` in another spelling of one of the units of the row, or among units of another system.
 */
static int in_own_unit(int row, double number, const char *word, char guess[SP_NAME_SIZE])
{
    const char *unit = sp_case_row_at(row)->unit, *own;
    char text[SP_NAME_SIZE];
    for (int i = 0; (own = sp_case_unit_name(unit, i)); i++) {
        snprintf(text, sizeof text, "%.6g %s", number, own);
        if (!strcasecmp(own, word) && offer(row, text, guess)) return 1;
    }
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        if (strcmp(others[i].unit, unit) || strcasecmp(others[i].foreign, word)) continue;
        snprintf(text, sizeof text, "%.6g %s", number * others[i].factor, unit);
        return offer(row, text, guess);
    }
    return 0;
}

/* Understand "95A" and "95 Shore A" as the number alone, or name the key of that scale. */
static int of_hardness(int row, double number, const char *word, char guess[SP_NAME_SIZE])
{
    const char *key = sp_case_row_at(row)->key;
    char other[2 * SP_NAME_SIZE], text[SP_NAME_SIZE];
    if (strncmp(key, "material.", strlen("material."))) return 0;
    if (!strncasecmp(word, "shore", 5)) word += 5;
    while (*word == ' ') word++;
    const char scale = (char)tolower((unsigned char)word[0]);
    if ((scale != 'a' && scale != 'd') || word[1]) return 0;
    snprintf(other, sizeof other, "material.shore_%c", scale);
    snprintf(text, sizeof text, "%.6g", number);
    if (!would_take(sp_case_row_find(other), text)) return 0;
    if (strcmp(key, other) && strcmp(key, "material.modulus") &&
        strncmp(key, "material.shore_", 15))
        return 0;
    if (strcmp(key, other))
        snprintf(guess, SP_NAME_SIZE, "shore_%c: %.30s", scale, text);
    else
        snprintf(guess, SP_NAME_SIZE, "%s", text);
    return 1;
}

void sp_case_near_miss(int row, const char *text, char guess[SP_NAME_SIZE])
{
    const sp_kind kind = sp_case_row_at(row)->kind;
    char plain[SP_NAME_SIZE], percent[SP_NAME_SIZE], *word;
    guess[0] = 0;
    if (kind != SP_KIND_NUMBER && kind != SP_KIND_INTEGER) return;
    if (strlen(text) >= SP_NAME_SIZE - 2) return;
    if (without_comma(text, plain) && offer(row, plain, guess)) return;
    const double number = strtod(plain, &word);
    if (word == plain) return;
    while (*word == ' ') word++;
    if (*word) {
        if (!in_own_unit(row, number, word, guess)) of_hardness(row, number, word, guess);
    } else if (!strcmp(sp_case_row_at(row)->unit, "%")) {
        snprintf(percent, sizeof percent, "%.40s %%", plain);
        offer(row, percent, guess);
    }
}
