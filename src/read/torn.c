/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers with a decimal comma in a file whose cells commas separate: `10,51` without quotes is two
 * cells. Mostly a row then has too many; where a remark or an empty cell takes the surplus, the
 * file looks whole and every number is wrong. */
#include <string.h>

#include "reading.h"

static bool is_whole(const char *s)
{
    size_t n = strspn(s, "0123456789");
    return n > 0 && s[n] == '\0';
}

static bool is_quantity(const struct column *c)
{
    return c->want != NULL && c->want->spec->dimension != DIM_TEXT;
}

/* Column k holds whole numbers only, and so do the remarks beside it. */
static bool remarks_complete(const struct reading *r, size_t k)
{
    size_t both = 0;
    for (size_t i = r->body; i < r->records.n; i++) {
        if (r->rows[i].kind != ROW_DATA)
            continue;
        const char *number = record_cell(&r->records.items[i], k);
        const char *remark = record_cell(&r->records.items[i], k + 1);
        if (remark[0] != '\0' && !is_whole(remark))
            return false;
        if (number[0] != '\0' && !is_whole(number))
            return false;
        both += number[0] != '\0' && remark[0] != '\0';
    }
    return both > 0;
}

static void refuse_remarks(struct reading *r, size_t k)
{
    for (size_t i = r->body; i < r->records.n; i++) {
        const char *remark = record_cell(&r->records.items[i], k + 1);
        const char *number = record_cell(&r->records.items[i], k);
        if (r->rows[i].kind != ROW_DATA || remark[0] == '\0' || number[0] == '\0')
            continue;
        struct complaint c = {
            DIAG_ERROR,
            "torn-decimals",
            column_name(&r->columns[k]),
            arena_printf(r->arena, "%s and the remark %s can be one number with a decimal comma",
                         quoted(r, number), quoted(r, remark)),
            "decimal points, or another separator than the comma",
            "Save the file with semicolons or with decimal points. If the remarks are whole "
            "numbers, put a word in front of them."};
        complain_cell(r, &c, i, k);
    }
}

/* Every row has a cell more than the header, empty, and no number has a mark. */
static bool rows_are_longer(const struct reading *r)
{
    size_t width = reading_header_width(r, r->header, r->joined), n = 0;
    for (size_t i = r->body; i < r->records.n; i++) {
        const struct record *rec = &r->records.items[i];
        if (r->rows[i].kind != ROW_DATA)
            continue;
        if (rec->n_cells <= width)
            return false;
        for (size_t k = 0; k < r->n_columns; k++) {
            const char *s = record_cell(rec, k);
            if (is_quantity(&r->columns[k]) && s[0] != '\0' && !is_whole(s))
                return false;
        }
        n++;
    }
    return n > 0;
}

void torn_check(struct reading *r)
{
    if (r->separator != ',')
        return;
    for (size_t k = 0; k + 1 < r->n_columns; k++) {
        const struct want *beside = r->columns[k + 1].want;
        if (is_quantity(&r->columns[k]) && beside != NULL && beside->role == ROLE_NOTE &&
            remarks_complete(r, k)) {
            refuse_remarks(r, k);
            return;
        }
    }
    if (!rows_are_longer(r))
        return;
    struct complaint c = {
        DIAG_ERROR,
        "torn-decimals",
        NULL,
        "every row has more cells than the header and whole numbers only: a decimal comma may have "
        "torn a number in two",
        "as many cells in a row as in the header",
        "Save the file with semicolons or with decimal points; or take the separators at the ends "
        "of the rows out."};
    for (size_t i = r->body; i < r->records.n; i++)
        if (r->rows[i].kind == ROW_DATA)
            complain_line(r, &c, i);
}
