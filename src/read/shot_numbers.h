/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * shot_numbers: the order in time, and shots that stand in a file twice.
 */
#ifndef READ_SHOT_NUMBERS_H
#define READ_SHOT_NUMBERS_H

#include "shots.h"

/* Rows of `t` stand in the order of the file, first[i] is the record where row i begins. Sets
 * their `order` and t->has_shot_numbers. One shot number with one setting and two different
 * readings is an error, unless the numbers start again from the first one, block after block. */
void shot_numbers_read(struct reading *r, struct table *t, const size_t *first);

#endif
