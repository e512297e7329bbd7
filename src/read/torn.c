/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers whose decimal mark is the separator, such as a decimal comma in a file whose cells commas
 * separate: `10,51` without quotes is two cells. Mostly a row then has too many; where a remark or
 * an empty cell takes the surplus, the file looks whole and every number is wrong. A spreadsheet
 * that splits the cells of a file at its semicolons and at its commas does the same, and saves with
 * any separator. */
#include <string.h>

#include "reading.h"

static bool is_whole(const char *s)
{
    size_t n = strspn(s, "0123456789");
    return n > 0 && s[n] == '\0';
}

/* In quotes of its own a number has not been torn. */
static bool is_quoted(const struct reading *r, size_t i, size_t k)
{
    struct cell_span s = record_span(r->text.s, &r->records.items[i], r->separator, k);
    return s.from < s.to && r->text.s[s.from] == '"';
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
        bool two = number[0] != '\0' && remark[0] != '\0';
        both += two && !(is_quoted(r, i, k) && is_quoted(r, i, k + 1));
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

/* ---- one row -------------------------------------------------------------------------------- */

static int decimals_as_typed(const struct reading *r, const char *s)
{
    const char *mark = strchr(s, r->mark == MARK_COMMA ? ',' : '.');
    size_t n = mark != NULL ? strspn(mark + 1, "0123456789") : 0;
    bool number = strspn(s, "0123456789.,") == strlen(s);
    return mark != NULL && number && mark[1 + n] == '\0' ? (int)n : 0;
}

/* The decimals of all numbers of a column with any, 0: they differ, or a quarter of the numbers are
 * whole. */
static int common_decimals(const struct reading *r, size_t k)
{
    size_t with = 0, whole = 0;
    int common = 0;
    for (size_t i = r->body; i < r->records.n; i++) {
        const char *s = row_cell(r, i, k);
        int d = decimals_as_typed(r, s);
        if (r->rows[i].kind != ROW_DATA)
            continue;
        whole += is_whole(s);
        if (d > 0 && with++ > 0 && d != common)
            return 0;
        common = d > 0 ? d : common;
    }
    return 3 * whole <= with ? common : 0;
}

/* The column of words of a row in which a number stands, or -1. */
static int number_among_words(const struct reading *r, size_t i)
{
    for (size_t k = 0; k < r->n_columns; k++) {
        const struct want *w = r->columns[k].want;
        const char *s = row_cell(r, i, k);
        bool words = w != NULL && (w->role == ROLE_NOTE || w->role == ROLE_DEFECT);
        if (words && s[0] != '\0' && strspn(s, "0123456789.,") == strlen(s))
            return (int)k;
    }
    return -1;
}

/* `148,3` where all others are like 147.9 became 148 and 3, and the cells behind it moved on, up to
 * a column of words; `148;3` between semicolons likewise. */
static void refuse_torn_cells(struct reading *r)
{
    int *decimals = ARENA_ARRAY(r->arena, int, r->n_columns);
    for (size_t k = 0; k < r->n_columns; k++)
        decimals[k] = column_is_quantity(&r->columns[k]) ? common_decimals(r, k) : 0;
    for (size_t i = r->body; i < r->records.n; i++) {
        int words = r->rows[i].kind == ROW_DATA ? number_among_words(r, i) : -1;
        /* beside the words themselves it can be a remark behind a number without its zero */
        for (size_t k = 0; words >= 0 && k + 1 < (size_t)words; k++) {
            const char *front = row_cell(r, i, k), *behind = row_cell(r, i, k + 1);
            if (decimals[k] == 0 || !is_whole(front) || !is_whole(behind) ||
                strlen(behind) != (size_t)decimals[k])
                continue;
            struct complaint c = {
                DIAG_ERROR,
                "torn-decimals",
                column_name(&r->columns[k]),
                arena_printf(r->arena, "%s and %s can be one number with a %s: %s stands in %s",
                             quoted(r, front), quoted(r, behind),
                             r->separator == ',' ? "decimal comma" : "separator in it",
                             quoted(r, row_cell(r, i, (size_t)words)),
                             column_name(&r->columns[words])),
                "a decimal mark that is not the separator",
                arena_printf(r->arena,
                             "If so, write %s%c%s, and take the separator out. If not, put "
                             "a word in front of the number in %s.",
                             front, r->mark == MARK_COMMA ? ',' : '.', behind,
                             column_name(&r->columns[words]))};
            complain_cell(r, &c, i, k);
            break;
        }
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
            if (column_is_quantity(&r->columns[k]) && s[0] != '\0' && !is_whole(s))
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
    return column_is_quantity(c) && !(c->want->spec->flags & COLUMN_SETTING) &&
           (c->want->spec->dimension == DIM_MASS ||
            facts_find(r->facts, "dimensions", c->want->spec->name) != NULL);
}

/* Every row of the column: as the first half of a number (`pair`), or as a remark that is none. */
static void refuse_column(struct reading *r, size_t k, bool pair)
{
    static const char *const expected[] = {"words in a column of text",
                                           "readings of two digits or more"};
    static const char *const if_meant[] = {
        "If the remarks are whole numbers, put a word in front of them.",
        "If these are two readings, write the first with a decimal mark, `4.0`."};
    for (size_t i = r->body; i < r->records.n; i++) {
        const struct record *rec = &r->records.items[i];
        if (r->rows[i].kind != ROW_DATA)
            continue;
        const char *what =
            pair ? arena_printf(r->arena,
                                "%s and %s beside it can be one number that was split at its "
                                "decimal comma: no number of the file has a decimal mark",
                                quoted(r, record_cell(rec, k)), quoted(r, record_cell(rec, k + 1)))
                 : arena_printf(r->arena,
                                "%s in %s: every row has a whole number there, and no number of "
                                "the file has a decimal mark: numbers may have been split at "
                                "their decimal commas",
                                quoted(r, record_cell(rec, k)), column_name(&r->columns[k]));
        struct complaint c = {
            DIAG_ERROR,
            "torn-decimals",
            column_name(&r->columns[k]),
            what,
            expected[pair],
            arena_printf(r->arena,
                         "Go back to the file as it was, and open it with the semicolon or tab as "
                         "its only separator. %s",
                         if_meant[pair])};
        complain_cell(r, &c, i, k);
    }
}

static void check_without_marks(struct reading *r)
{
    double least, most, ignored;
    for (size_t k = 0; k < r->n_columns; k++) {
        if (is_remark(&r->columns[k]) && is_whole_throughout(r, k, &least, &most) &&
            most >= FEW_DIGITS) { /* 0 and 1 in `exclude` are meant so */
            refuse_column(r, k, false);
            return;
        }
        if (k + 1 < r->n_columns && is_measured(r, &r->columns[k]) &&
            column_is_quantity(&r->columns[k + 1]) && is_whole_throughout(r, k, &least, &most) &&
            least < FEW_DIGITS && is_whole_throughout(r, k + 1, &ignored, &most)) {
            refuse_column(r, k, true);
            return;
        }
    }
}

/* True after an error. */
static bool check_commas(struct reading *r)
{
    for (size_t k = 0; k + 1 < r->n_columns; k++) {
        const struct want *beside = r->columns[k + 1].want;
        if (column_is_quantity(&r->columns[k]) && beside != NULL && beside->role == ROLE_NOTE &&
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
    refuse_torn_cells(r);
    bool told = r->separator == ',' && check_commas(r);
    if (!told && strcmp(r->source->decimal, "none seen") == 0)
        check_without_marks(r);
}
