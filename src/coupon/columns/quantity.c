/* Tell what a column holds: by its unit, else by its name, in the words of test reports in English,
 * German, French, Italian and Spanish (common practice, no source). */
#include <ctype.h>
#include <string.h>
#include <strings.h>

#include "columns/columns_parts.h"

static const double newton_per_pound = 4.4482216152605; /* 0.45359237 kg x 9.80665 m/s2, exact */

typedef struct unit_row {
    const char *text;
    sp_quantity quantity;
    double factor;
} unit_row;

/* All factors are exact by definition; the pound-force of 4.4482216152605 N and the psi of 6894.757
 * Pa were read in public lists of units. */
static const unit_row units[] = {
    {"mm", SP_QUANTITY_TRAVEL, 1},
    {"cm", SP_QUANTITY_TRAVEL, 10},
    {"m", SP_QUANTITY_TRAVEL, 1000},
    {"\xc2\xb5m", SP_QUANTITY_TRAVEL, 1e-3},
    {"\xce\xbcm", SP_QUANTITY_TRAVEL, 1e-3},
    {"um", SP_QUANTITY_TRAVEL, 1e-3},
    {"micron", SP_QUANTITY_TRAVEL, 1e-3},
    {"in", SP_QUANTITY_TRAVEL, 25.4},
    {"inch", SP_QUANTITY_TRAVEL, 25.4},
    {"inches", SP_QUANTITY_TRAVEL, 25.4},
    {"mil", SP_QUANTITY_TRAVEL, 0.0254},
    {"N", SP_QUANTITY_FORCE, 1},
    {"kN", SP_QUANTITY_FORCE, 1e3},
    {"mN", SP_QUANTITY_FORCE, 1e-3},
    {"MN", SP_QUANTITY_FORCE, 1e6},
    {"daN", SP_QUANTITY_FORCE, 10},
    {"kgf", SP_QUANTITY_FORCE, 9.80665},
    {"kp", SP_QUANTITY_FORCE, 9.80665},
    {"kg", SP_QUANTITY_FORCE, 9.80665}, /* what a balance shows */
    {"gf", SP_QUANTITY_FORCE, 9.80665e-3},
    {"g", SP_QUANTITY_FORCE, 9.80665e-3},
    {"lbf", SP_QUANTITY_FORCE, newton_per_pound},
    {"lb", SP_QUANTITY_FORCE, newton_per_pound},
    {"lbs", SP_QUANTITY_FORCE, newton_per_pound},
    {"kip", SP_QUANTITY_FORCE, 1000 * newton_per_pound},
    {"ozf", SP_QUANTITY_FORCE, newton_per_pound / 16},
    {"s", SP_QUANTITY_TIME, 1},
    {"sec", SP_QUANTITY_TIME, 1},
    {"seconds", SP_QUANTITY_TIME, 1},
    {"ms", SP_QUANTITY_TIME, 1e-3},
    {"min", SP_QUANTITY_TIME, 60},
    {"h", SP_QUANTITY_TIME, 3600},
    {"%", SP_QUANTITY_STRAIN, 0.01},
    {"\xe2\x80\xb0", SP_QUANTITY_STRAIN, 1e-3}, /* per mille */
    {"mm/mm", SP_QUANTITY_STRAIN, 1},
    {"m/m", SP_QUANTITY_STRAIN, 1},
    {"in/in", SP_QUANTITY_STRAIN, 1},
    {"MPa", SP_QUANTITY_STRESS, 1},
    {"N/mm2", SP_QUANTITY_STRESS, 1},
    {"N/mm^2", SP_QUANTITY_STRESS, 1},
    {"N/mm\xc2\xb2", SP_QUANTITY_STRESS, 1},
    {"kPa", SP_QUANTITY_STRESS, 1e-3},
    {"Pa", SP_QUANTITY_STRESS, 1e-6},
    {"GPa", SP_QUANTITY_STRESS, 1e3},
    {"bar", SP_QUANTITY_STRESS, 0.1},
    {"psi", SP_QUANTITY_STRESS, newton_per_pound / (25.4 * 25.4)},
    {"ksi", SP_QUANTITY_STRESS, 1000 * newton_per_pound / (25.4 * 25.4)},
};
enum { UNIT_COUNT = sizeof units / sizeof *units };

sp_quantity sp_unit_find(const char *text, size_t length, double *factor)
{
    /* The unit is first compared as it is written, since mN and MN differ. */
    for (int loose = 0; loose < 2; loose++)
        for (int i = 0; i < UNIT_COUNT; i++) {
            const size_t own = strlen(units[i].text);
            if (own != length || (loose && length < 2)) continue;
            if (loose ? strncasecmp(text, units[i].text, length) != 0
                      : memcmp(text, units[i].text, length) != 0)
                continue;
            *factor = units[i].factor;
            return units[i].quantity;
        }
    return SP_QUANTITY_UNKNOWN;
}

/* ---- names ----------------------------------------------- */

typedef enum { PART, WORD, WHOLE } word_place; /* WHOLE: the name has nothing else but digits */
typedef struct word_row {
    const char *text;
    word_place place;
    sp_quantity quantity;
} word_row;

/* Names are compared in this order. */
static const word_row words[] = {
    {"time", PART, SP_QUANTITY_TIME},
    {"zeit", PART, SP_QUANTITY_TIME},
    {"temps", WORD, SP_QUANTITY_TIME},
    {"tempo", WORD, SP_QUANTITY_TIME},
    {"tiempo", WORD, SP_QUANTITY_TIME},
    {"seconds", WORD, SP_QUANTITY_TIME},
    {"stress", PART, SP_QUANTITY_STRESS},
    {"spannung", PART, SP_QUANTITY_STRESS},
    {"contrainte", PART, SP_QUANTITY_STRESS},
    {"sigma", WORD, SP_QUANTITY_STRESS},
    {"sig", WORD, SP_QUANTITY_STRESS},
    {"pressure", PART, SP_QUANTITY_STRESS},
    {"tensione", WORD, SP_QUANTITY_STRESS},
    {"strain", PART, SP_QUANTITY_STRAIN},
    {"dehnung", PART, SP_QUANTITY_STRAIN},
    {"eps", WORD, SP_QUANTITY_STRAIN},
    {"epsilon", WORD, SP_QUANTITY_STRAIN},
    {"deformazione", WORD, SP_QUANTITY_STRAIN},
    {"force", PART, SP_QUANTITY_FORCE},
    {"kraft", PART, SP_QUANTITY_FORCE},
    {"load", PART, SP_QUANTITY_FORCE},
    {"effort", WORD, SP_QUANTITY_FORCE},
    {"charge", WORD, SP_QUANTITY_FORCE},
    {"forza", WORD, SP_QUANTITY_FORCE},
    {"carico", WORD, SP_QUANTITY_FORCE},
    {"fuerza", WORD, SP_QUANTITY_FORCE},
    {"carga", WORD, SP_QUANTITY_FORCE},
    {"last", WORD, SP_QUANTITY_FORCE},
    {"f", WHOLE, SP_QUANTITY_FORCE},
    {"fz", WHOLE, SP_QUANTITY_FORCE},
    {"p", WHOLE, SP_QUANTITY_FORCE},
    {"weg", PART, SP_QUANTITY_TRAVEL},
    {"travel", PART, SP_QUANTITY_TRAVEL},
    {"displacement", PART, SP_QUANTITY_TRAVEL},
    {"deplacement", PART, SP_QUANTITY_TRAVEL},
    {"extension", PART, SP_QUANTITY_TRAVEL},
    {"stroke", PART, SP_QUANTITY_TRAVEL},
    {"crosshead", PART, SP_QUANTITY_TRAVEL},
    {"shortening", PART, SP_QUANTITY_TRAVEL},
    {"deflection", PART, SP_QUANTITY_TRAVEL},
    {"deformation", PART, SP_QUANTITY_TRAVEL},
    {"verschiebung", PART, SP_QUANTITY_TRAVEL},
    {"verformung", PART, SP_QUANTITY_TRAVEL},
    {"stauchung", PART, SP_QUANTITY_TRAVEL},
    {"compression", PART, SP_QUANTITY_TRAVEL},
    {"abstand", PART, SP_QUANTITY_TRAVEL},
    {"course", WORD, SP_QUANTITY_TRAVEL},
    {"spostamento", WORD, SP_QUANTITY_TRAVEL},
    {"corsa", WORD, SP_QUANTITY_TRAVEL},
    {"desplazamiento", WORD, SP_QUANTITY_TRAVEL},
    {"hub", WORD, SP_QUANTITY_TRAVEL},
    {"gap", WORD, SP_QUANTITY_TRAVEL},
    {"height", WORD, SP_QUANTITY_TRAVEL},
    {"hohe", WORD, SP_QUANTITY_TRAVEL},
    {"position", PART, SP_QUANTITY_TRAVEL},
    {"u", WHOLE, SP_QUANTITY_TRAVEL},
    {"x", WHOLE, SP_QUANTITY_TRAVEL},
    {"z", WHOLE, SP_QUANTITY_TRAVEL},
    {"dl", WHOLE, SP_QUANTITY_TRAVEL},
    {"t", WHOLE, SP_QUANTITY_TIME},
    {"cycle", PART, SP_QUANTITY_CYCLE},
    {"zyklus", PART, SP_QUANTITY_CYCLE},
    {"loop", WORD, SP_QUANTITY_CYCLE},
    {"specimen", PART, SP_QUANTITY_SPECIMEN},
    {"prufling", PART, SP_QUANTITY_SPECIMEN},
    {"probekorper", PART, SP_QUANTITY_SPECIMEN},
    {"probe", WORD, SP_QUANTITY_SPECIMEN},
    {"sample", WORD, SP_QUANTITY_SPECIMEN},
    {"eprouvette", PART, SP_QUANTITY_SPECIMEN},
    {"provino", WORD, SP_QUANTITY_SPECIMEN},
    {"probeta", WORD, SP_QUANTITY_SPECIMEN},
    {"test", WORD, SP_QUANTITY_SPECIMEN},
    {"coupon", WORD, SP_QUANTITY_SPECIMEN},
    {"nr", WORD, SP_QUANTITY_COUNT},
    {"no", WORD, SP_QUANTITY_COUNT},
    {"n", WHOLE, SP_QUANTITY_COUNT},
    {"id", WHOLE, SP_QUANTITY_COUNT},
    {"index", WORD, SP_QUANTITY_COUNT},
    {"row", WORD, SP_QUANTITY_COUNT},
    {"point", WORD, SP_QUANTITY_COUNT},
    {"punkt", WORD, SP_QUANTITY_COUNT},
    {"scan", WORD, SP_QUANTITY_COUNT},
    {"lfd", WORD, SP_QUANTITY_COUNT},
    {"count", WORD, SP_QUANTITY_COUNT},
};

const char *sp_quantity_word(sp_quantity quantity)
{
    static const char *const word[] = {"not used",       "time",        "travel",
                                       "force",          "strain",      "stress",
                                       "which specimen", "which cycle", "count of rows"};
    return word[quantity];
}

/* Make letters lower case without accents (Latin-1 only), and everything else but digits a blank.
 */
static void fold(column_span name, char *out, size_t size)
{
    static const char *const plain =
        "aaaaaaaceeeeiiiidnooooo ouuuuypsaaaaaaaceeeeiiiidnooooo ouuuuypy";
    size_t n = 0;
    for (const char *c = name.from; c < name.end && n + 1 < size; c++) {
        const unsigned char b = (unsigned char)*c;
        if (b == 0xc3 && c + 1 < name.end && ((unsigned char)c[1] & 0xc0) == 0x80)
            out[n++] = plain[(unsigned char)*++c & 0x3f];
        else
            out[n++] = (char)(isalnum(b) ? tolower(b) : ' ');
    }
    out[n] = 0;
}

static int is_whole(const char *name, const char *word)
{
    const size_t length = strlen(word);
    while (*name == ' ') name++;
    return !strncmp(name, word, length) && name[length + strspn(name + length, " 0123456789")] == 0;
}

static int has_word(const char *name, const char *word)
{
    const size_t length = strlen(word);
    for (const char *at = name; (at = strstr(at, word)); at++)
        if ((at == name || !isalpha((unsigned char)at[-1])) && !isalpha((unsigned char)at[length]))
            return 1;
    return 0;
}

static sp_quantity by_name(column_span name)
{
    char folded[SP_COLUMN_TEXT_SIZE];
    fold(name, folded, sizeof folded);
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        const word_row *w = &words[i];
        const int is = w->place == PART   ? strstr(folded, w->text) != NULL
                       : w->place == WORD ? has_word(folded, w->text)
                                          : is_whole(folded, w->text);
        if (is) return w->quantity;
    }
    return SP_QUANTITY_UNKNOWN;
}

/* ---- heads ----------------------------------------------- */

static column_span without_brackets(column_span s)
{
    s = sp_span_trim(s);
    if (s.end - s.from >= 2 && strchr("[(", *s.from) && strchr("])", s.end[-1]))
        s = sp_span_trim((column_span){s.from + 1, s.end - 1});
    return s;
}

static sp_quantity unit_of(column_span s, double *factor)
{
    return s.end > s.from ? sp_unit_find(s.from, (size_t)(s.end - s.from), factor)
                          : SP_QUANTITY_UNKNOWN;
}

/* Find the unit inside a name, in brackets or behind a slash, a comma, a line or a blank, and cut
 * it off the name. */
static column_span unit_in_name(column_span *name)
{
    double factor;
    const column_span whole = *name;
    if (whole.end > whole.from && strchr("])", whole.end[-1])) {
        const char open = whole.end[-1] == ']' ? '[' : '(';
        for (const char *c = whole.end - 1; c >= whole.from; c--)
            if (*c == open) {
                name->end = c;
                return sp_span_trim((column_span){c + 1, whole.end - 1});
            }
    }
    if (unit_of(whole, &factor)) return whole;
    /* Take the longest unit at the end, because "N/mm2" has a slash of its own. */
    for (const char *c = whole.from; c < whole.end; c++)
        if (strchr("/,_ ;:", *c)) {
            const column_span unit = without_brackets((column_span){c + 1, whole.end});
            if (!unit_of(unit, &factor)) continue;
            name->end = c;
            return unit;
        }
    return (column_span){whole.end, whole.end};
}

static void copy_span(column_span s, char *out, size_t size)
{
    char raw[4 * SP_COLUMN_TEXT_SIZE];
    size_t length = (size_t)(s.end - s.from);
    if (length >= sizeof raw) length = sizeof raw - 1;
    memcpy(raw, s.from, length);
    raw[length] = 0;
    sp_printable(raw, out, size);
}

void sp_column_named(column_span name, column_span unit, sp_column *column)
{
    name = sp_span_trim(name);
    while (name.from < name.end && (*name.from == '#' || *name.from == '"')) name.from++;
    name = sp_span_trim(name);
    unit = without_brackets(unit);
    if (unit.end == unit.from) unit = unit_in_name(&name);
    name = sp_span_trim(name);
    copy_span(name, column->name, sizeof column->name);
    copy_span(unit, column->unit, sizeof column->unit);
    column->factor = 1;
    const sp_quantity named = by_name(name), measured = unit_of(unit, &column->factor);
    column->quantity = measured != SP_QUANTITY_UNKNOWN ? measured : named;
    if (measured == SP_QUANTITY_UNKNOWN) column->factor = 1;
}

int sp_column_is_unit_line(const column_span *cell, int count)
{
    int found = 0;
    double factor;
    for (int i = 0; i < count; i++) {
        const column_span s = without_brackets(cell[i]);
        if (s.end == s.from || (s.end - s.from == 1 && (*s.from == '-' || *s.from == '#')))
            continue;
        if (!unit_of(s, &factor)) return 0;
        found++;
    }
    return found > 0;
}
