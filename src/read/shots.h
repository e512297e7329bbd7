/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * shots: which records belong to one shot, and what the columns that every study accepts say.
 */
#ifndef READ_SHOTS_H
#define READ_SHOTS_H

#include "reading.h"

#define NO_SHOT ((size_t)-1)

struct shots {
    size_t *of;          /* per record: its shot, or NO_SHOT */
    int *cavity;         /* per record, long form: cavity number, 0: none */
    bool *excluded;      /* per record: left out by the user */
    const char **reason; /* per record: "" when no reason was given */
    size_t n;            /* shots */
    int *cavities;       /* long form: the numbers that occur, ascending */
    size_t n_cavities;
    int *index; /* cavity number -> place in `cavities` */
};

void shots_group(struct reading *r, struct shots *out);
/* The columns of shot number, settings and labels (room for all columns); how many. */
size_t shots_key_columns(const struct reading *r, int *columns);
/* What stands in these columns of a record; numbers by value, so that 2 and 2.0 are one setting. */
const char *shots_key(struct reading *r, size_t i, const int *columns, size_t n);
/* What a cell of `exclude` means: NULL keeps the row, "" leaves it out without a reason. */
const char *shots_exclusion(const char *s);
/* A row of the table that `exclude` does not leave out. */
bool shots_keeps_row(const struct reading *r, size_t record);
/* "" for `ok`, `none`, `good`, `-` and the words of a missing reading. */
const char *shots_defect(const char *s);
/* The cell says that the part is good; an empty one does not. */
bool shots_says_good(const char *s);
/* The shot number of a cell, with the decimal mark of the file; false when it is no plain number.
 */
bool shots_number(const char *s, enum decimal_mark mark, double *number);

#endif
