/* Text and numbers on a stream, the same in every locale; a number that is not finite is never
 * written. */
#ifndef SP_WRITE_TEXT_H
#define SP_WRITE_TEXT_H

#include <stdio.h>

#include <strutpress/context.h>

/* printf and snprintf with the number format of the C locale, whatever locale the program has set.
 * A text that does not fit ends in three dots. */
void sp_print(FILE *stream, const char *format, ...) __attribute__((format(printf, 2, 3)));
void sp_format(char *text, size_t size, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Format a number with `digits` significant digits; the text is empty when the number is not
 * finite. */
#define SP_NUMBER_SIZE 32
const char *sp_number(char text[SP_NUMBER_SIZE], double value, int digits);

double sp_finite(double value); /* 0 when not finite: for coordinates and per-point values */

/* Turn initial_stiffness into "initial stiffness", as people read a name below a picture. */
void sp_name_in_words(const char *name, char *words, size_t size);

/* Write a text as one cell of CSV, in quotes (RFC 4180), printable. A cell that a spreadsheet would
 * run as a formula, because it begins with = + - or @, gets a ' before it, which makes it text
 * (common practice, no source). */
void sp_csv_text(FILE *stream, const char *text);

/* Return the columns that a UTF-8 text takes on a terminal (one per character). */
int sp_text_columns(const char *text);

/* Flush and check the stream: SP_OK, or SP_NO_WRITE with the cause in words. Every writer ends with
 * it. */
sp_status sp_stream_end(sp_context *context, FILE *stream);

#endif
