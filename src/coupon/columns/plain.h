/* Lines of plain numbers with decimal points, as programs write them: the reader of tables of a law
 * and of records of a material. Files of a rig, in whatever form, are read by columns.h. */
#ifndef SP_COLUMNS_PLAIN_H
#define SP_COLUMNS_PLAIN_H

/* Cut the remark ('#' and what follows), the line end and the blanks around off a line; line number
 * 1 may begin with a byte order mark. Returns the text left in `line`, "" when there is none. */
char *sp_plain_trim(char *line, int number);

/* Read at most `most` numbers that stand between commas, semicolons, tabs or blanks into `value`;
 * returns how many. *end is the place behind them: "" when nothing else follows. */
int sp_plain_numbers(const char *text, int most, double *value, const char **end);

/* Return 1 when a trimmed line begins with a word, as a head does; "nan" and "inf" are no words. */
int sp_plain_is_head(const char *text);

#endif
