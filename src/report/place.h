/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Private to report: where in a JSON text a value stands. */
#ifndef REPORT_PLACE_H
#define REPORT_PLACE_H

#include "plateau/base.h"

struct place_step {
    const char *key; /* of an object, or NULL: the element `index` of an array */
    size_t index;
};

/* The line (1-based) of the value that the steps lead to from the root; of the last one found where
 * the path goes on into nothing. The text must be valid JSON. Linear in its length. */
long place_line(const char *bytes, size_t n, const struct place_step *steps, size_t n_steps);
/* "studies[0].bounds[2].side", harmless. */
const char *place_path(struct arena *a, const struct place_step *steps, size_t n_steps);

#endif
