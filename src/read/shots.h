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
/* "" for `ok`, `none`, `good`, `-` and the words of a missing reading. */
const char *shots_defect(const char *s);
/* The shot number of a cell; false when it is no plain number. */
bool shots_number(const char *s, double *number);

#endif
