/* Write records as CSV or JSON, as they come. */
#include <strutpress/records.h>

#include <math.h>

#include "write/json.h"
#include "write/text.h"

enum { DIGITS = 12 };

void sp_records_begin(sp_records *records, FILE *stream, sp_record_format format, int column_count,
                      const char *const *column)
{
    *records = (sp_records){
        .stream = stream, .format = format, .column_count = column_count, .column = column};
    if (format == SP_FORMAT_JSON) fputc('[', stream);
    for (int i = 0; format == SP_FORMAT_CSV && i < column_count; i++)
        sp_print(stream, "%s%s", i ? "," : "", column[i]);
    if (format == SP_FORMAT_CSV) fputc('\n', stream);
}

static void begin_cell(sp_records *records)
{
    FILE *stream = records->stream;
    const int first = records->cell == 0;
    if (records->format == SP_FORMAT_CSV) {
        if (!first) fputc(',', stream);
        return;
    }
    if (first) sp_print(stream, "%s\n  {", records->count ? "," : "");
    sp_print(stream, "%s\"%s\": ", first ? "" : ", ", records->column[records->cell]);
}

static void put_json_text(sp_records *records, const char *text)
{
    json_t *made = sp_json_text(text);
    if (!made || json_dumpf(made, records->stream, JSON_ENCODE_ANY) != 0) records->failed = 1;
    json_decref(made);
}

static void end_cell(sp_records *records)
{
    if (++records->cell < records->column_count) return;
    records->cell = 0;
    records->count++;
    fputc(records->format == SP_FORMAT_CSV ? '\n' : '}', records->stream);
}

void sp_records_text(sp_records *records, const char *text)
{
    begin_cell(records);
    if (records->format == SP_FORMAT_CSV)
        sp_csv_text(records->stream, text);
    else
        put_json_text(records, text);
    end_cell(records);
}

void sp_records_number(sp_records *records, double number)
{
    char text[SP_NUMBER_SIZE];
    begin_cell(records);
    if (isfinite(number))
        sp_print(records->stream, "%s", sp_number(text, number, DIGITS));
    else if (records->format == SP_FORMAT_JSON)
        sp_print(records->stream, "null");
    end_cell(records);
}

sp_status sp_records_end(sp_context *context, sp_records *records)
{
    if (records->format == SP_FORMAT_JSON)
        sp_print(records->stream, records->count ? "\n]\n" : "]\n");
    const sp_status status = sp_stream_end(context, records->stream);
    if (status == SP_OK && records->failed)
        return sp_fail(context, SP_NO_MEMORY, "no memory for a record");
    return status;
}
