/* These functions write records for other programs to a stream: one table, as CSV or as JSON.
 *
 * Ownership: names of columns must live as long as the records. Errors: sp_records_end names its
 * own; before it nothing fails. Threads: one stream serves one call at a time.
 *
 * CSV has a line with the names of the columns and then one line per record, text in quotes, an
 * empty cell where a number is not known (RFC 4180). JSON is an array of objects with the same
 * names, null where a number is not known. Numbers have a point, whatever the locale. */
#ifndef STRUTPRESS_RECORDS_H
#define STRUTPRESS_RECORDS_H

#include <stdio.h>

#include <strutpress/context.h>

SP_PUBLIC_BEGIN

typedef enum { SP_FORMAT_TABLE, SP_FORMAT_JSON, SP_FORMAT_CSV } sp_record_format;

typedef struct sp_records {
    FILE *stream;
    sp_record_format format;
    int column_count;
    const char *const *column;
    int count, cell; /* records begun, cells of this one so far */
    int failed;      /* 1: there was no memory for a text */
} sp_records;

void sp_records_begin(sp_records *records, FILE *stream, sp_record_format format, int column_count,
                      const char *const *column);
/* Write the next cell; a new record begins by itself when the one before is full. */
void sp_records_text(sp_records *records, const char *text);
void sp_records_number(sp_records *records, double number); /* not known when it is not finite */
/* Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_records_end(sp_context *context, sp_records *records);

SP_PUBLIC_END

#endif
