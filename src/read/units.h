/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * units: what the rest of the reader needs beyond unit_find of plateau/read.h.
 */
#ifndef READ_UNITS_H
#define READ_UNITS_H

#include "plateau/read.h"

enum unit_answer {
    UNIT_OK,
    UNIT_UNKNOWN,         /* not in the table */
    UNIT_WRONG_DIMENSION, /* known, but of another dimension; `unit` holds it */
    UNIT_ASK              /* two readings; `question` says which */
};

struct unit_result {
    enum unit_answer answer;
    const struct unit *unit;
    const char *question;
};

/* The unit of a spelling where a quantity of dimension `d` is asked. Beyond unit_find it knows what
 * only the dimension can tell:
 * - an age takes the units of time and is canonical in hours;
 * - a temperature difference takes K, degC and degF, the latter two without their zero points;
 * - a temperature does not take K (a question is given back: kelvin is read as a difference);
 * - a ratio takes `1` beside `%`. */
struct unit_result unit_find_for(enum dimension d, const char *s, size_t length);

/* True where a sign that only looks like one of a unit stands in its spelling (a masculine ordinal
 * for the degree sign), or a pair of signs that UTF-8 turns into when it is read as Latin-1. */
bool unit_is_respelled(const char *s, size_t length);

#endif
