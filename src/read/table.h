/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * table: what trial.c needs beyond table_load_bytes, so that the files of one trial can settle each
 * other's decimal mark.
 *
 * `25,123` in every row can be 25.123 or 25 123. A file settles that by itself where one cell has
 * only one reading, or where only one reading lies in the physical range of its column. Where it
 * does not, another file of the trial may: whoever exported one exported the other. So:
 *
 *   1. for every file, table_decimal() in an arena that is thrown away;
 *   2. where all files that are settled agree on one mark, that mark is the hint for those that are
 *      not: struct table_hint {mark, name of the first file that settled it};
 *   3. table_read() for every file, with the hint or NULL. The hint is used only where the file
 *      does not settle the mark, and then listed as the repair `decimal-from-other-file`.
 */
#ifndef READ_TABLE_H
#define READ_TABLE_H

#include "number.h"
#include "plateau/read.h"

struct table_hint {
    enum decimal_mark mark;
    const char *file; /* that settled it */
};

enum table_decimal_answer {
    TABLE_DECIMAL_NONE,  /* no cell has a mark, or the file cannot be read */
    TABLE_DECIMAL_POINT, /* settled by the file or by [files] */
    TABLE_DECIMAL_COMMA,
    TABLE_DECIMAL_EITHER, /* not settled: a hint may help */
    TABLE_DECIMAL_MIXED   /* both in one file: table_read refuses it */
};

/* What the file itself says; adds no diagnostics. */
enum table_decimal_answer table_decimal(struct arena *scratch, const char *name, const void *bytes,
                                        size_t n_bytes, const struct study_input *study,
                                        const struct facts *facts);

/* True when a row that is used holds a number that was read off: not a blank entry table, in which
 * the varied setting stands already. */
bool table_has_readings(const struct table *t);

/* table_load_bytes with a hint (NULL: none). */
enum errc table_read(struct arena *a, const char *name, const void *bytes, size_t n_bytes,
                     const struct study_input *study, const struct facts *facts,
                     const struct table_hint *hint, struct table *out, struct diag_list *diags,
                     struct error *e) PL_MUST_CHECK;

#endif
