/* These tests check curves of a rig: 44 made-up exports of every kind, each with a known truth, the
 * unchanged open files of printed blocks (tests/data/beam_lattices/ORIGIN.txt), and files that are
 * refused. */
#include "check.h"

#include <strutpress/strutpress.h>

#include "columns/columns.h"
#include "measure/curve.h"
#include "temporary_file.h"

/* ---- the truth ----------------------------------------------- */

/* Return the force [N] of an invented foot of foam at u mm: straight at its start (50 N/mm), a
 * plateau, densification. */
static double foot(double u)
{
    return u <= 0 ? 0 : 60 * tanh(u * 50 / 60) + 0.02 * u * u * u * u;
}

/* Return the travel of the rig when the coupon is shortened by u: slack that closes as the coupon
 * seats, and the give of the machine are added (E206). */
static double travel_at(double u, double slack, double machine)
{
    const double force = foot(u);
    return u + slack * (1 - exp(-force / 1.5)) + (machine > 0 ? force / machine : 0);
}

static double force_at_travel(double travel, double slack, double machine)
{
    double low = 0, high = 20;
    if (travel <= 0) return 0;
    for (int i = 0; i < 60; i++) {
        const double middle = 0.5 * (low + high);
        *(travel_at(middle, slack, machine) > travel ? &high : &low) = middle;
    }
    return foot(low);
}

/* ---- exports ----------------------------------------------- */

typedef enum { UTF8, UTF8_MARK, UTF16_LITTLE, UTF16_BIG, UTF16_BARE, LATIN1 } encoding;
typedef enum { ALONE, STACKED, STACKED_BARE, SIDE, SHARED_TRAVEL, BY_COLUMN } arrangement;

typedef struct export_kind {
    const char *what;
    const char *head; /* lines before the rows, "\n" ends each; names and units stand last */
    /* The letters are the columns: t time, n count, u travel, f force, x junk, w word, c cycle, i
     * specimen. */
    const char *order;
    encoding encoding;
    char delimiter;                 /* 0: ';' */
    char decimal;                   /* 0: '.' */
    const char *line_end;           /* NULL: "\n" */
    double travel_unit, force_unit; /* mm and N of one of the file; 0: 1 */
    double travel_sign, force_sign; /* 0: 1 */
    double travel_from;             /* added to the travel of the file [mm] */
    double air, slack, force_offset, machine, noise;
    int cycles;     /* 0: a single loading; else so many there and back, the last to the end */
    int back, hold; /* the way back, and rows that hold at the top */
    arrangement arrangement;
    int specimens; /* 0: 1 */
    int spike, missing, grouped, quoted, digits, coarse;
    const char *behind_travel, *behind_force; /* units behind every number */
    /* These are the options that a user gives. */
    const char *key, *value;
    double tolerance; /* [N]; 0: 0.3 */
} export_kind;

static const export_kind kinds[] = {
    {.what = "plain, commas", .head = "shortening_mm,force_N\n", .order = "uf", .delimiter = ','},
    {.what = "tabs, German names", .head = "Nr\tWeg\tKraft\n", .order = "nuf", .delimiter = '\t'},
    {.what = "semicolons, decimal comma",
     .head = "Weg [mm];Kraft [N]\n",
     .order = "uf",
     .decimal = ','},
    {.what = "tabs, decimal comma",
     .head = "Weg in mm\tKraft in N\n",
     .order = "uf",
     .delimiter = '\t',
     .decimal = ','},
    {.what = "blanks, no names", .head = "", .order = "uf", .delimiter = ' '},
    {.what = "blanks, decimal comma, no names",
     .head = "",
     .order = "uf",
     .delimiter = ' ',
     .decimal = ','},
    {.what = "force first, no names", .head = "", .order = "fu", .delimiter = ','},
    {.what = "time, travel, force, no names", .head = "", .order = "tuf", .delimiter = ';'},
    {.what = "time, force, travel, no names", .head = "", .order = "tfu", .delimiter = '\t'},
    {.what = "UTF-16 little endian",
     .head = "Zeit;Traversenweg;Pr\xc3\xbc"
             "fkraft\ns;mm;N\n",
     .order = "tuf",
     .encoding = UTF16_LITTLE,
     .decimal = ',',
     .line_end = "\r\n"},
    {.what = "UTF-16 big endian",
     .head = "Time\tExtension\tLoad\n(s)\t(mm)\t(N)\n",
     .order = "tuf",
     .encoding = UTF16_BIG,
     .delimiter = '\t',
     .line_end = "\r\n"},
    {.what = "UTF-16 without a mark",
     .head = "Time,Extension,Load\n",
     .order = "tuf",
     .encoding = UTF16_BARE,
     .delimiter = ',',
     .line_end = "\r\n"},
    {.what = "UTF-8 with a mark",
     .head = "Load [N],Extension [mm]\n",
     .order = "fu",
     .encoding = UTF8_MARK,
     .delimiter = ','},
    {.what = "Latin-1 with umlauts",
     .head = "Pr\xc3\xbc"
             "fkraft [N];Verschiebung [\xc2\xb5m]\n",
     .order = "fu",
     .encoding = LATIN1,
     .decimal = ',',
     .travel_unit = 1e-3},
    {.what = "kN and m",
     .head = "displacement (m),force (kN)\n",
     .order = "uf",
     .delimiter = ',',
     .travel_unit = 1000,
     .force_unit = 1000,
     .digits = 9},
    {.what = "pounds and inches",
     .head = "Crosshead travel (in)\tLoad (lbf)\n",
     .order = "uf",
     .delimiter = '\t',
     .travel_unit = 25.4,
     .force_unit = 4.4482216152605},
    {.what = "kilogram-force, named by units alone",
     .head = "kgf;cm\n",
     .order = "fu",
     .travel_unit = 10,
     .force_unit = 9.80665},
    {.what = "units in a line of their own",
     .head = "Travel,Force\nmm,N\n",
     .order = "uf",
     .delimiter = ','},
    {.what = "blanks in names, units in brackets",
     .head = "Travel [mm] Load [N]\n",
     .order = "uf",
     .delimiter = ' '},
    {.what = "units behind every number",
     .head = "",
     .order = "uf",
     .decimal = ',',
     .behind_travel = " mm",
     .behind_force = " N"},
    {.what = "many head lines with numbers",
     .head = "Test report;17;;\nOperator;somebody;;\nSpeed;5;mm/min;2\nSize;20;20;15\n\nNo;Time "
             "[s];Travel [mm];Force [N]\n",
     .order = "ntuf"},
    {.what = "a table of results above",
     .head =
         "stiffness;peak;energy;n\n50,1;60,2;3,3;4\n51,2;61,3;3,4;5\n\nNr;Zeit/s;Weg/mm;Kraft/N\n",
     .order = "ntuf",
     .decimal = ','},
    {.what = "carriage returns alone",
     .head = "u,F\n",
     .order = "uf",
     .delimiter = ',',
     .line_end = "\r"},
    {.what = "pressing is negative",
     .head = "Extension [mm];Load [N]\n",
     .order = "uf",
     .travel_sign = -1,
     .force_sign = -1},
    {.what = "force negative, height left",
     .head = "Gap [mm];Load [N]\n",
     .order = "uf",
     .travel_sign = -1,
     .force_sign = -1,
     .travel_from = 42},
    {.what = "place of the machine far from zero",
     .head = "Position;Force\n",
     .order = "uf",
     .travel_from = 312.5},
    {.what = "through the air, offset of the load cell",
     .head = "mm;N\n",
     .order = "uf",
     .air = 1.3,
     .force_offset = -2.2,
     .noise = 0.05,
     .tolerance = 0.8},
    {.what = "toe", .head = "mm;N\n", .order = "uf", .slack = 0.3, .tolerance = 1.5},
    {.what = "toe, noise",
     .head = "mm;N\n",
     .order = "uf",
     .slack = 0.3,
     .noise = 0.1,
     .tolerance = 2.5},
    {.what = "toe, asked for",
     .head = "mm;N\n",
     .order = "uf",
     .slack = 0.2,
     .key = "zero",
     .value = "toe",
     .tolerance = 1.5},
    {.what = "start given",
     .head = "mm;N\n",
     .order = "uf",
     .air = 0.7,
     .key = "starts_at",
     .value = "0.7 mm"},
    {.what = "soft machine",
     .head = "mm;N\n",
     .order = "uf",
     .machine = 400,
     .key = "machine_stiffness",
     .value = "400",
     .tolerance = 0.6},
    {.what = "the way back", .head = "Weg;Kraft\n", .order = "uf", .back = 1},
    {.what = "hold and the way back",
     .head = "Zeit [s];Weg [mm];Kraft [N]\n",
     .order = "tuf",
     .back = 1,
     .hold = 200},
    {.what = "three cycles",
     .head = "Cycle,Time,Travel,Load\n",
     .order = "ctuf",
     .delimiter = ',',
     .cycles = 3,
     .back = 1},
    {.what = "four specimens, one below the other",
     .head = "Specimen\nTravel [mm];Load [N]\n",
     .order = "uf",
     .arrangement = STACKED,
     .specimens = 4},
    {.what = "three specimens without names between",
     .head = "t,u,f\n",
     .order = "tuf",
     .delimiter = ',',
     .arrangement = STACKED_BARE,
     .specimens = 3,
     .back = 1},
    {.what = "three specimens side by side",
     .head = "u1\tf1\tu2\tf2\tu3\tf3\n",
     .order = "uf",
     .delimiter = '\t',
     .arrangement = SIDE,
     .specimens = 3},
    {.what = "two forces over one travel",
     .head = "Travel;Load 1;Load 2\n",
     .order = "uf",
     .arrangement = SHARED_TRAVEL,
     .specimens = 2},
    {.what = "a column says which specimen",
     .head = "Probe;Weg;Kraft\n",
     .order = "iuf",
     .decimal = ',',
     .arrangement = BY_COLUMN,
     .specimens = 3},
    {.what = "words and times of day among the columns",
     .head = "Clock;Phase;Travel;Load\n",
     .order = "Twuf"},
    {.what = "marks between thousands",
     .head = "Weg [\xc2\xb5m];Kraft [mN]\n",
     .order = "uf",
     .decimal = ',',
     .grouped = 1,
     .travel_unit = 1e-3,
     .force_unit = 1e-3},
    {.what = "quotes around decimal commas",
     .head = "\"Weg\",\"Kraft\"\n",
     .order = "uf",
     .delimiter = ',',
     .decimal = ',',
     .quoted = 1},
    {.what = "spikes, values that are missing",
     .head = "mm;N\n",
     .order = "uf",
     .spike = 1,
     .missing = 1,
     .noise = 0.02},
    {.what = "preload, coarse rows",
     .head = "mm;N\n",
     .order = "uf",
     .coarse = 1,
     .key = "zero",
     .value = "file"},
    {.what = "junk columns",
     .head = "Nr;Temperature;Travel;Width [px];Load;Valid\n",
     .order = "nxuxfx"},
};
enum { KINDS = sizeof kinds / sizeof *kinds, ROWS_OF_ONE = 700, ROOM = 1 << 22 };

typedef struct sheet {
    char *text;
    size_t length;
    unsigned seed;
} sheet;

static double random_between(sheet *s) /* -1 .. 1 */
{
    s->seed = s->seed * 1103515245u + 12345u;
    return (double)((s->seed >> 8) & 0xffff) / 32767.5 - 1;
}

static void put(sheet *s, const char *text)
{
    const size_t length = strlen(text);
    assert_true(s->length + length < ROOM);
    memcpy(s->text + s->length, text, length + 1);
    s->length += length;
}

static void put_end(sheet *s, const export_kind *k)
{
    put(s, k->line_end ? k->line_end : "\n");
}

/* Return a value of a kind of export, or another one where it is left at 0. */
static double unless_nil(double value, double otherwise)
{
    return fabs(value) > 0 ? value : otherwise;
}

static void put_number(sheet *s, const export_kind *k, double value, const char *behind)
{
    char number[64], out[96];
    int n = 0;
    snprintf(number, sizeof number, "%.*f", k->digits ? k->digits : 5, value);
    const char *point = strchr(number, '.');
    if (k->quoted) out[n++] = '"';
    for (const char *c = number; *c; c++) {
        if (k->grouped && c < point && c > number && c[-1] != '-' && (point - c) % 3 == 0)
            out[n++] = k->decimal == ',' ? '.' : ',';
        out[n++] = *c == '.' && k->decimal ? k->decimal : *c;
    }
    out[n] = 0;
    put(s, out);
    if (behind) put(s, behind);
    if (k->quoted) put(s, "\"");
}

/* Return the travel of row `i` of one specimen, [mm] before signs and units; *count gets the rows.
 */
static double travel_of(const export_kind *k, int i, int *count)
{
    const double end = travel_at(8, k->slack, k->machine) + k->air;
    const int down = k->coarse ? 90 : ROWS_OF_ONE, hold = k->hold,
              rows = down + hold + (k->back ? down : 0);
    const int cycles = k->cycles > 1 ? k->cycles : 1;
    *count = rows * cycles;
    const int cycle = i / rows, at = i % rows;
    const double top = end * (cycle + 1) / cycles;
    if (at < down) return top * at / (down - 1);
    if (at < down + hold) return top;
    return top * (1 - (double)(at - down - hold) / (down - 1));
}

static void put_row(sheet *s, const export_kind *k, int i, int specimen, const char *order)
{
    int count;
    const double travel = travel_of(k, i, &count);
    const double before = i > 0 ? travel_of(k, i - 1, &count) : -1;
    /* The way back carries less; its rows must not be taken. */
    double force =
        force_at_travel(travel - k->air, k->slack, k->machine) * (travel < before ? 0.6 : 1);
    if (travel == before) force *= 0.9;
    force *= 1 + 0.1 * specimen;
    force +=
        k->force_offset + k->noise * (random_between(s) + random_between(s) + random_between(s));
    if (k->spike && i == 300) force += 55;
    for (const char *c = order; *c; c++) {
        char text[40];
        const char delimiter[2] = {k->delimiter ? k->delimiter : ';', 0};
        if (c > order) put(s, delimiter);
        switch (*c) {
        case 'u':
            put_number(s, k,
                       (unless_nil(k->travel_sign, 1) * travel + k->travel_from) /
                           unless_nil(k->travel_unit, 1),
                       k->behind_travel);
            break;
        case 'f':
            if (k->missing && i % 50 == 7)
                put(s, "---");
            else
                put_number(s, k,
                           unless_nil(k->force_sign, 1) * force / unless_nil(k->force_unit, 1),
                           k->behind_force);
            break;
        case 't':
            put_number(s, k, 0.02 * i, NULL);
            break;
        case 'x':
            put_number(s, k, 20 + random_between(s), NULL);
            break;
        case 'n':
            snprintf(text, sizeof text, "%d", i + 1), put(s, text);
            break;
        case 'c':
            snprintf(text, sizeof text, "%d", i / (count / k->cycles) + 1), put(s, text);
            break;
        case 'i':
            snprintf(text, sizeof text, "foot %c", 'A' + specimen), put(s, text);
            break;
        case 'w':
            put(s, travel < before ? "up" : "down");
            break;
        case 'T':
            snprintf(text, sizeof text, "2026-11-30 10:%02d:%02d", i / 60 % 60, i % 60),
                put(s, text);
            break;
        default:
            fail();
        }
    }
}

static void put_specimen(sheet *s, const export_kind *k, int specimen)
{
    int count;
    (void)travel_of(k, 0, &count);
    for (int i = 0; i < count; i++) {
        if (k->arrangement == SIDE || k->arrangement == SHARED_TRAVEL) {
            for (int n = 0; n < k->specimens; n++) {
                const char delimiter[2] = {k->delimiter ? k->delimiter : ';', 0};
                if (n) put(s, delimiter);
                put_row(s, k, i, n, n && k->arrangement == SHARED_TRAVEL ? "f" : "uf");
            }
        } else
            put_row(s, k, i, specimen, k->order);
        put_end(s, k);
    }
}

static void put_head(sheet *s, const export_kind *k)
{
    for (const char *c = k->head; *c; c++) {
        if (*c == '\n')
            put_end(s, k);
        else
            put(s, (const char[]){*c, 0});
    }
}

/* Write the export in UTF-8. */
static void write_sheet(sheet *s, const export_kind *k)
{
    const int together = k->arrangement == SIDE || k->arrangement == SHARED_TRAVEL;
    for (int i = 0; i < (k->specimens && !together ? k->specimens : 1); i++) {
        if (i == 0 || k->arrangement == STACKED) put_head(s, k);
        put_specimen(s, k, i);
        if (k->arrangement == STACKED) put_end(s, k);
    }
}

/* Write the export in its own encoding. Characters beyond Latin-1 are not used. */
static size_t encode(const sheet *s, encoding e, char *out)
{
    size_t n = 0;
    if (e == UTF8_MARK) memcpy(out, "\xef\xbb\xbf", 3), n = 3;
    if (e == UTF16_LITTLE) memcpy(out, "\xff\xfe", 2), n = 2;
    if (e == UTF16_BIG) memcpy(out, "\xfe\xff", 2), n = 2;
    for (size_t i = 0; i < s->length; i++) {
        unsigned c = (unsigned char)s->text[i];
        if (e == UTF8 || e == UTF8_MARK) {
            out[n++] = (char)c;
            continue;
        }
        if (c >= 0xc0) c = (c & 0x1f) << 6 | ((unsigned char)s->text[++i] & 0x3f);
        if (e == UTF16_BIG) out[n++] = 0;
        out[n++] = (char)c;
        if (e == UTF16_LITTLE || e == UTF16_BARE) out[n++] = 0;
    }
    return n;
}

static sp_status read_kind(sp_context *context, const export_kind *k, sp_rig **rig)
{
    sheet s = {malloc(ROOM), 0, 7};
    char *bytes = malloc(2 * ROOM), valid[200];
    sp_rig_request request;
    sp_rig_request_default(&request);
    if (k->key) assert_true(sp_rig_request_set(&request, k->key, k->value, valid, sizeof valid));
    write_sheet(&s, k);
    const size_t size = encode(&s, k->encoding, bytes);
    if (getenv(
            "RIG_EXPORTS")) { /* to look at them: RIG_EXPORTS=FOLDER build/release/tests/test_rig */
        char name[512];
        snprintf(name, sizeof name, "%s/export-%02d.txt", getenv("RIG_EXPORTS"), (int)(k - kinds));
        FILE *stream = fopen(name, "wb");
        assert_non_null(stream);
        assert_int_equal(fwrite(bytes, 1, size, stream), size);
        fclose(stream);
    }
    const sp_status status = sp_rig_parse(context, k->what, bytes, size, &request, rig);
    free(bytes);
    free(s.text);
    return status;
}

static double largest_deviation(const sp_rig *rig, int specimen)
{
    const sp_curve curve = sp_rig_curve(rig, specimen);
    double worst = 0;
    for (double u = 0.4; u < 7.6; u += 0.02) {
        const sp_measure force = sp_curve_force(&curve, u);
        if (!force.reached) return INFINITY;
        worst = fmax(worst, fabs(force.value / (1 + 0.1 * specimen) - foot(u)));
    }
    return worst;
}

static void test_every_export(void **state)
{
    (void)state;
    for (int i = 0; i < KINDS; i++) {
        const export_kind *k = &kinds[i];
        sp_context context = {0};
        sp_rig *rig = NULL;
        const sp_status status = read_kind(&context, k, &rig);
        if (status != SP_OK) fail_msg("%s: %s", k->what, context.message);
        const int wanted = k->specimens ? k->specimens : 1;
        if (sp_rig_count(rig) != wanted)
            fail_msg("%s: %d specimens, wanted %d", k->what, sp_rig_count(rig), wanted);
        for (int n = 0; n < wanted; n++) {
            const double off = largest_deviation(rig, n), tolerance = unless_nil(k->tolerance, 0.3);
            print_message("%2d %-45s %d: off by %.3f N of 142 N\n", i, k->what, n + 1, off);
            if (!(off <= tolerance)) {
                sp_rig_table(&context, rig, stderr);
                fail_msg("%s, specimen %d: off by %g N", k->what, n + 1, off);
            }
        }
        sp_rig_free(rig);
    }
}

/* ---- single steps ----------------------------------------------- */

static sp_rig *read_text(const char *text, const char *key, const char *value)
{
    sp_context context = {0};
    sp_rig *rig = NULL;
    sp_rig_request request;
    char valid[200];
    sp_rig_request_default(&request);
    if (key && !sp_rig_request_set(&request, key, value, valid, sizeof valid))
        fail_msg("%s", valid);
    if (sp_rig_parse(&context, "text", text, strlen(text), &request, &rig) != SP_OK)
        fail_msg("%s", context.message);
    return rig;
}

/* With a preload, zero is where the force first reaches 5 N, between rows. The line F = 10 u - 2
 * reaches 5 N at 0.7 mm. */
static void test_preload(void **state)
{
    char text[4000] = "mm;N\n";
    (void)state;
    for (int i = 0; i <= 60; i++) {
        const size_t used = strlen(text);
        snprintf(text + used, sizeof text - used, "%.2f;%.2f\n", 0.05 * i,
                 fmax(0, 10 * 0.05 * i - 2));
    }
    sp_rig *rig = read_text(text, "preload", "5 N");
    const sp_curve curve = sp_rig_curve(rig, 0);
    check_close(curve.force[0], 5, 1e-9);
    check_close(sp_curve_force(&curve, 1).value, 15, 1e-9);
    check_close(sp_curve_end(&curve), 2.3, 1e-9);
    sp_rig_free(rig);
}

/* A machine of 100 N/mm in series with a coupon of 25 N/mm has 20 N/mm. It is taken off by its
 * stiffness, and by a curve of platen on platen. */
static void test_machine(void **state)
{
    char text[4000] = "mm;N\n", platens[4000] = "N,mm\n", name[256];
    (void)state;
    for (int i = 0; i <= 60; i++) {
        size_t used = strlen(text);
        snprintf(text + used, sizeof text - used, "%.3f;%.3f\n", 0.05 * i, 20 * 0.05 * i);
        used = strlen(platens);
        snprintf(platens + used, sizeof platens - used, "%.3f,%.4f\n", 2.0 * i, 0.02 * i);
    }
    write_temporary_file(name, sizeof name, platens);
    for (int by_curve = 0; by_curve < 2; by_curve++) {
        sp_rig *rig = read_text(text, by_curve ? "machine_curve" : "machine_stiffness",
                                by_curve ? name : "100 N/mm");
        const sp_curve curve = sp_rig_curve(rig, 0);
        check_close(sp_curve_force(&curve, 1).value, 25, 1e-6);
        check_close(sp_curve_end(&curve), 2.4, 1e-6);
        sp_rig_free(rig);
    }
    unlink(name);
}

/* Strain in per cent and stress become a curve with the size of the specimen: 20 mm high, 400
 * mm2. */
static void test_strain_and_stress(void **state)
{
    sp_context context = {0};
    sp_rig_request request;
    sp_rig *rig;
    char valid[200], text[2000] = "Stauchung [%];Druckspannung [kPa]\n";
    (void)state;
    for (int i = 0; i <= 40; i++) {
        const size_t used = strlen(text);
        snprintf(text + used, sizeof text - used, "%d;%d\n", i, 5 * i);
    }
    sp_rig_request_default(&request);
    assert_true(sp_rig_request_set(&request, "height", "20 mm", valid, sizeof valid));
    assert_true(sp_rig_request_set(&request, "area", "400", valid, sizeof valid));
    assert_int_equal(sp_rig_parse(&context, "text", text, strlen(text), &request, &rig), SP_OK);
    const sp_curve curve = sp_rig_curve(rig, 0);
    check_close(sp_curve_end(&curve), 8, 1e-9);
    check_close(sp_curve_force(&curve, 4).value, 0.1 * 400, 1e-9); /* 20 %, 100 kPa */
    sp_rig_free(rig);
}

/* The fall of the force at a snap, and small steps of the platen back and forth, are not taken for
 * cycles. */
static void test_cycles_are_told(void **state)
{
    char text[20000] = "mm;N\n";
    (void)state;
    for (int cycle = 1; cycle <= 3; cycle++)
        for (int i = 0; i < 200; i++) {
            const double u = cycle * (i < 100 ? i : 199 - i) / 99.0;
            const size_t used = strlen(text);
            snprintf(text + used, sizeof text - used, "%.4f;%.4f\n", u,
                     (i < 100 ? 10 : 6) * u * cycle);
        }
    for (int cycle = 1; cycle <= 3; cycle++) {
        const char number[2] = {(char)('0' + cycle), 0};
        sp_rig *rig = read_text(text, "cycle", number);
        const sp_curve curve = sp_rig_curve(rig, 0);
        check_close(sp_curve_end(&curve), cycle, 2e-3 * cycle);
        check_close(sp_curve_force(&curve, 0.5 * cycle).value, 5 * cycle * cycle, 0.01);
        sp_rig_free(rig);
    }
}

/* ---- open files ----------------------------------------------- */

/* One file holds three printed blocks, pressed to 35 mm (Weeger and co-workers, ORIGIN.txt): every
 * specimen is found, and the curves are those of the columns, moved by their zero. */
static void test_open_block(void **state)
{
    sp_context context = {0};
    sp_rig_request request;
    sp_rig *rig;
    (void)state;
    sp_rig_request_default(&request);
    assert_true(sp_rig_request_set(&request, "zero", "file", (char[200]){0}, 200));
    assert_int_equal(
        sp_rig_read(&context, "tests/data/beam_lattices/press/asu_bcc_d12_exp.txt", &request, &rig),
        SP_OK);
    assert_int_equal(sp_rig_count(rig), 3);
    for (int i = 0; i < 3; i++) {
        const sp_curve curve = sp_rig_curve(rig, i);
        check_close(sp_curve_end(&curve), 35.035, 1e-9);
    }
    /* Line 3 of the file is 0.0400 2.0832 0.0400 2.8145 0.0400 1.4665 */
    const double force[3] = {2.0832, 2.8145, 1.4665};
    for (int i = 0; i < 3; i++) {
        const sp_curve curve = sp_rig_curve(rig, i);
        check_close(sp_curve_force(&curve, 0.04).value, force[i], 1e-9);
    }
    sp_rig_free(rig);
}

/* ---- what is refused ----------------------------------------------- */

static void check_refused(const char *text, size_t size, const char *says)
{
    sp_context context = {0};
    sp_rig *rig;
    assert_int_equal(sp_rig_parse(&context, "text", text, size, NULL, &rig), SP_NO_READ);
    assert_null(rig);
    if (!strstr(context.message, says)) fail_msg("'%s' lacks '%s'", context.message, says);
    assert_null(strchr(context.message, '\n'));
}

static void test_refused(void **state)
{
    static const char *const bad[][2] = {
        {"", "0 lines"},
        {"a letter to the editor\n", "without two rows"},
        {"mm;N\n0;0\n", "without two rows"},
        {"s;N\n0;0\n1;1\n2;3\n", "no column of travel"},
        {"mm;s\n0;0\n1;1\n2;3\n", "no column of force"},
        {"mm;N\n5;0\n5;1\n5;2\n", "rows"},
        {"mm;N\n1e9;0\n3e9;1\n9e9;2\n", "shortening"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        check_refused(bad[i][0], strlen(bad[i][0]), bad[i][1]);
    check_refused("mm;N\n0;0\n\0;1\n", 12, "byte 0");
    check_refused("\x7f"
                  "ELF\x02\x01\x01\x00\x00",
                  9, "byte");
    /* This is a line without an end. */
    char *line = malloc(1 << 20);
    memset(line, '7', 1 << 20);
    check_refused(line, 1 << 20, "without two rows");
    free(line);
}

static void test_request_refused(void **state)
{
    static const char *const bad[][2] = {{"specimen", "0"},   {"specimen", "x"},
                                         {"zero", "nowhere"}, {"preload", "-1 N"},
                                         {"height", "0"},     {"machine_stiffness", "nan"},
                                         {"travel", ""},      {"nothing", "1"}};
    sp_rig_request request;
    char valid[200];
    (void)state;
    sp_rig_request_default(&request);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        assert_false(sp_rig_request_set(&request, bad[i][0], bad[i][1], valid, sizeof valid));
        assert_true(valid[0]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_export),    cmocka_unit_test(test_preload),
        cmocka_unit_test(test_machine),         cmocka_unit_test(test_strain_and_stress),
        cmocka_unit_test(test_cycles_are_told), cmocka_unit_test(test_open_block),
        cmocka_unit_test(test_refused),         cmocka_unit_test(test_request_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
