/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * cell_refusal: what is said of a cell that is no number. */
#ifndef READ_CELL_REFUSAL_H
#define READ_CELL_REFUSAL_H

#include "number.h"
#include "plateau/base.h"

struct cell_refusal {
    const char *code;
    const char *what; /* "is a fraction" */
    const char *more; /* "; it comes to 0.5", or "" */
    const char *remedy;
};

/* `answer` is one of those from NUMBER_DATE on; `value` is that of number_parse. */
struct cell_refusal cell_refusal(struct arena *a, enum number_answer answer, const char *text,
                                 double value);

#endif
