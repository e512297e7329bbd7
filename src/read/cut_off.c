/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A file that ends inside the last number of its last row: `4.2` where all readings above were
 * written to three decimals, zeros included. Rows that end early are told by rows.c. */
#include <string.h>

#include "reading.h"

/* Decimals of a plain number as written, -1: none, or more than a number. */
static int decimals_of(const struct reading *r, size_t i, size_t k, bool *zero)
{
    struct number x;
    const char *s = row_cell(r, i, k);
    size_t n = strlen(s);
    if (number_parse(s, n, r->mark, &x) != NUMBER_OK || x.rest_length > 0)
        return -1;
    *zero = x.decimals > 0 && s[n - 1] == '0';
    return x.decimals;
}

/* The decimals that all rows above have, if one of them ends in a zero: a fixed format. 0: none. */
static int decimals_above(const struct reading *r, size_t last, size_t k)
{
    int all = -1;
    bool any_zero = false;
    for (size_t i = r->body; i < last; i++) {
        bool zero = false;
        int d = r->rows[i].kind == ROW_DATA ? decimals_of(r, i, k, &zero) : -1;
        if (d < 0)
            continue;
        if (all >= 0 && d != all)
            return 0;
        all = d;
        any_zero = any_zero || zero;
    }
    return any_zero ? all : 0;
}

void cut_off_check(struct reading *r)
{
    if (r->records.n <= r->body)
        return;
    size_t last = r->records.n - 1;
    const struct record *rec = &r->records.items[last];
    if (rec->to != r->text.length || r->rows[last].kind != ROW_DATA || rec->n_cells == 0 ||
        rec->n_cells > r->n_columns)
        return;
    size_t k = rec->n_cells - 1;
    const struct column *c = &r->columns[k];
    bool zero = false;
    if (c->want == NULL || c->want->spec->dimension == DIM_TEXT)
        return;
    int above = decimals_above(r, last, k), here = decimals_of(r, last, k, &zero);
    if (here < 0 || here >= above)
        return;
    struct complaint x = {
        DIAG_ERROR,
        "file-cut-off",
        column_name(c),
        arena_printf(r->arena,
                     "the file ends with %s, without a line end, and every other %s has %d "
                     "decimals: it seems cut off",
                     quoted(r, row_cell(r, last, k)), column_name(c), above),
        arena_printf(r->arena, "%d decimals, or a line end behind the last row", above),
        "Export or copy the file again; if the row is whole, put a line end behind it."};
    complain_cell(r, &x, last, k);
}
