/* Search for the smallest x of a range at which a function that rises with x is no longer negative.
 *
 * The next x follows from the points alone, so points that are known from elsewhere shorten the
 * search, and a search that is begun again with all its points is over at once. A value that is not
 * known (NaN) counts as negative. */
#ifndef SP_SEEK_BRACKET_H
#define SP_SEEK_BRACKET_H

typedef struct bracket_point {
    double x, value;
} bracket_point;

typedef struct bracket {
    double low, high; /* range of x */
    double within;    /* the crossing is known when its neighbours are this close */
    int count;
    const bracket_point *point; /* count, in the order of x */
} bracket;

/* Return the next x to try, NaN when nothing is left to try. */
double sp_bracket_next(const bracket *b);

/* Return the smallest x with a value that is not negative, NaN when there is none. */
double sp_bracket_crossing(const bracket *b);

#endif
