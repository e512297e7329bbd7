/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * table_join: several files of one study -> one table, each row keeping its file.
 */
#ifndef READ_TABLE_JOIN_H
#define READ_TABLE_JOIN_H

#include "plateau/read.h"

/* Joins the tables of one study, in the order of the files. Columns are matched by name and cavity;
 * a column that a file does not have is missing in its rows. The unit shown is the first file's.
 *
 * Order in time: by shot number where every file has numbers and none occurs in two files; else
 * the files one after the other (a repair `files-in-order` says so), each in its own order.
 *
 * The same bytes twice are an error in `diags`.
 * `parts` must be loaded without errors and outlive `out`; n >= 1; one part is copied as it is. */
void table_join(struct arena *a, const struct table *parts, size_t n, struct table *out,
                struct diag_list *diags);

#endif
