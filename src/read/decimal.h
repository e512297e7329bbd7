/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * decimal: what the files of the decimal mark share. */
#ifndef READ_DECIMAL_H
#define READ_DECIMAL_H

#include "reading.h"

/* No decimal mark was refused, and none is still to be settled by another file: a number is not off
 * by a thousand for want of it. */
bool decimal_is_settled(const struct reading *r);
/* A number as it reads with that mark, "4.202". */
const char *decimal_as_read(struct reading *r, const char *s, enum decimal_mark mark);

/* The mark that keeps every value within what can be, where the other one does not, and `why`;
 * MARK_NONE_SEEN where both do or neither. A value that cannot be in either reading does not count.
 * `only`: of the columns of this quantity, NULL: of all. `given`: the mark was said, and what is
 * only seldom (a part of 25 kg) counts as possible. */
enum decimal_mark decimal_by_range(struct reading *r, const struct column_spec *only, bool given,
                                   const char **why);

/* After a cell (record, column) has settled the mark of the file: refuses quantities whose numbers
 * all have two readings, all with the other mark, and where what can be does not say that they are
 * thousands. They can come from another hand. */
void decimal_check_hands(struct reading *r, size_t record, size_t column);

/* The mark of the numbers in columns that nobody reads but that have a unit, if they agree; `why`
 * names the column. Text, dates and numbers without a unit tell nothing. */
enum decimal_mark decimal_by_unused_columns(struct reading *r, const char **why);

/* What a comment line `# decimal = comma` of the file says; MARK_NONE_SEEN: there is none. Two that
 * differ are an error. */
enum decimal_mark decimal_said_in_file(struct reading *r, long *line);

#endif
