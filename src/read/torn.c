/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers with a decimal comma in a file whose cells commas separate: `10,51` without quotes is two
 * cells. Mostly a row then has too many; where a remark or an empty cell takes the surplus, the
 * file looks whole and every number is wrong. A spreadsheet that splits the cells of a file at its
 * semicolons and at its commas does the same, and saves with any separator. */
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

/* ---- whatever separates the cells: no number of the file has a mark ------------------------- */

#define FEW_DIGITS 10.0 /* nobody weighs or measures to a tenth of the reading */

static bool is_remark(const struct column *c)
{
    return c->want != NULL && (c->want->role == ROLE_NOTE || c->want->role == ROLE_EXCLUDE ||
                               c->want->role == ROLE_EXCLUDED_BY || c->want->role == ROLE_DEFECT);
}

/* Whole numbers, two of them different, in all rows of column k; false without rows. */
static bool is_whole_throughout(const struct reading *r, size_t k, double *least, double *most)
{
    const char *first = NULL;
    bool differ = false;
    *least = PL_INF;
    *most = 0.0;
    for (size_t i = r->body; i < r->records.n; i++) {
        const char *s = record_cell(&r->records.items[i], k);
        struct number x;
        if (r->rows[i].kind != ROW_DATA)
            continue;
        if (!is_whole(s) || number_parse(s, strlen(s), MARK_POINT, &x) != NUMBER_OK)
            return false;
        first = first == NULL ? s : first;
        differ = differ || strcmp(first, s) != 0;
        *least = x.value < *least ? x.value : *least;
        *most = x.value > *most ? x.value : *most;
    }
    return differ;
}

static bool is_measured(const struct reading *r, const struct column *c)
{
    return is_quantity(c) && !(c->want->spec->flags & COLUMN_SETTING) &&
           (c->want->spec->dimension == DIM_MASS ||
            facts_find(r->facts, "dimensions", c->want->spec->name) != NULL);
}

static void refuse_pair(struct reading *r, size_t k)
{
    for (size_t i = r->body; i < r->records.n; i++) {
        if (r->rows[i].kind != ROW_DATA)
            continue;
        struct complaint c = {
            DIAG_ERROR,
            "torn-decimals",
            column_name(&r->columns[k]),
            arena_printf(r->arena,
                         "%s and %s beside it can be one number that was split at its decimal "
                         "comma: no number of the file has a decimal mark",
                         quoted(r, record_cell(&r->records.items[i], k)),
                         quoted(r, record_cell(&r->records.items[i], k + 1))),
            "readings of two digits or more",
            "Go back to the file as it was, and open it with the semicolon or tab as its only "
            "separator. If these are two readings, write the first with a decimal mark, `4.0`."};
        complain_cell(r, &c, i, k);
    }
}

static void refuse_numbers_as_remarks(struct reading *r, size_t k)
{
    for (size_t i = r->body; i < r->records.n; i++) {
        if (r->rows[i].kind != ROW_DATA)
            continue;
        struct complaint c = {
            DIAG_ERROR,
            "torn-decimals",
            column_name(&r->columns[k]),
            arena_printf(r->arena,
                         "%s in %s: every row has a whole number there, and no number of the file "
                         "has a decimal mark: numbers may have been split at their decimal commas",
                         quoted(r, record_cell(&r->records.items[i], k)),
                         column_name(&r->columns[k])),
            "words in a column of text",
            "Go back to the file as it was, and open it with the semicolon or tab as its only "
            "separator. If the remarks are whole numbers, put a word in front of them."};
        complain_cell(r, &c, i, k);
    }
}

static void check_without_marks(struct reading *r)
{
    double least, most, ignored;
    for (size_t k = 0; k < r->n_columns; k++) {
        if (is_remark(&r->columns[k]) && is_whole_throughout(r, k, &least, &most) &&
            most >= FEW_DIGITS) { /* 0 and 1 in `exclude` are meant so */
            refuse_numbers_as_remarks(r, k);
            return;
        }
        if (k + 1 < r->n_columns && is_measured(r, &r->columns[k]) &&
            is_quantity(&r->columns[k + 1]) && is_whole_throughout(r, k, &least, &most) &&
            least < FEW_DIGITS && is_whole_throughout(r, k + 1, &ignored, &most)) {
            refuse_pair(r, k);
            return;
        }
    }
}

/* True after an error. */
static bool check_commas(struct reading *r)
{
    for (size_t k = 0; k + 1 < r->n_columns; k++) {
        const struct want *beside = r->columns[k + 1].want;
        if (is_quantity(&r->columns[k]) && beside != NULL && beside->role == ROLE_NOTE &&
            remarks_complete(r, k)) {
            refuse_remarks(r, k);
            return true;
        }
    }
    if (!rows_are_longer(r))
        return false;
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
    return true;
}

void torn_check(struct reading *r)
{
    bool told = r->separator == ',' && check_commas(r);
    if (!told && strcmp(r->source->decimal, "none seen") == 0)
        check_without_marks(r);
}
