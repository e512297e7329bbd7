/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Names of stages, runs and shots are text and stay as they are. What a spreadsheet seems to have
 * done to them is told; it cannot be undone here. */
#include <stdlib.h>
#include <string.h>

#include "number_words.h"
#include "reading.h"

/* `9.45E+12`, which may have been 9450E9; `2-Jan`, which was 1-2 or 2-1. */
static bool looks_converted(const char *s)
{
    int day, month;
    size_t digits = strspn(s, "0123456789");
    if (number_date_parts(s, strlen(s), &day, &month))
        return true;
    if (digits != 1 || (s[1] != '.' && s[1] != ','))
        return false;
    s += 2;
    digits = strspn(s, "0123456789");
    s += digits;
    return digits > 0 && s[0] == 'E' && s[1] == '+' && s[2] != '\0' &&
           strspn(s + 2, "0123456789") == strlen(s + 2);
}

static bool names_something(const struct column *c)
{
    return c->want != NULL && c->want->spec->dimension == DIM_TEXT &&
           (c->want->role == ROLE_SHOT || (c->want->spec->flags & COLUMN_CONSTANT_LABEL) != 0);
}

/* ---- `001` beside `1` ----------------------------------------------------------------------- */

struct label {
    const char *s;
    const char *bare; /* without the zeros in front */
    size_t record;
};

static int compare_labels(const void *a, const void *b)
{
    const struct label *x = a, *y = b;
    int order = strcmp(x->bare, y->bare);
    if (order == 0)
        order = strcmp(x->s, y->s);
    return order != 0 ? order : (x->record > y->record) - (x->record < y->record);
}

static int compare_records(const void *a, const void *b)
{
    const struct label *x = a, *y = b;
    return (x->record > y->record) - (x->record < y->record);
}

/* Every further spelling of a number, at its first place. */
static void note_nearly_same(struct reading *r, size_t k, struct label *labels, size_t n)
{
    size_t kept = 0;
    qsort(labels, n, sizeof *labels, compare_labels);
    for (size_t i = 0, group = 0; i < n; i++) {
        if (i > 0 && strcmp(labels[i].bare, labels[i - 1].bare) != 0)
            group = i;
        if (i > group && strcmp(labels[i].s, labels[i - 1].s) != 0) {
            size_t a = labels[i].record, b = labels[group].record;
            labels[kept] = labels[i];
            labels[kept++].record = a > b ? a : b;
        }
    }
    qsort(labels, kept, sizeof *labels, compare_records);
    for (size_t i = 0; i < kept; i++)
        note_repair(
            r, "names-nearly-same", column_name(&r->columns[k]),
            r->records.items[labels[i].record].line,
            arena_printf(
                r->arena,
                "%s is written with and without zeros in front; these were taken as two names",
                quoted(r, labels[i].bare)));
}

/* ---- "as above" ----------------------------------------------------------------------------- */

/* `"`, `''`, `-"-`, U+3003: as people write "the same" below a name. */
static bool is_ditto(const char *s)
{
    static const char *const words[] = {"ditto", "dito", "do.", "idem", "id."};
    bool sign = false;
    for (size_t i = 0; i < PL_COUNT(words); i++)
        if (text_same_word(s, words[i]))
            return true;
    for (size_t n; *s != '\0'; s += n) {
        unsigned cp = 0;
        n = utf8_next(s, strlen(s), &cp);
        bool mark = cp == '"' || cp == '\'' || cp == 0x2033 || cp == 0x3003 || cp == 0x201C ||
                    cp == 0x201D || cp == 0x201E;
        if (n == 0 || (!mark && cp != '-' && cp != '~' && cp != ' '))
            return false;
        sign = sign || mark;
    }
    return sign;
}

static void refuse_ditto(struct reading *r, size_t i, size_t k)
{
    struct complaint c = {DIAG_ERROR,
                          "ditto-mark",
                          column_name(&r->columns[k]),
                          arena_printf(r->arena, "%s in %s stands for the name above it",
                                       quoted(r, row_cell(r, i, k)), column_name(&r->columns[k])),
                          "a name in every row",
                          "Copy the name down into these cells."};
    complain_cell(r, &c, i, k);
}

static void check_column(struct reading *r, size_t k)
{
    struct label *labels = ARENA_ARRAY(r->arena, struct label, r->records.n);
    size_t n = 0;
    for (size_t i = r->body; i < r->records.n; i++) {
        const char *s = row_cell(r, i, k);
        if (r->rows[i].kind != ROW_DATA || s[0] == '\0')
            continue;
        if ((r->columns[k].want->spec->flags & COLUMN_CONSTANT_LABEL) && is_ditto(s))
            refuse_ditto(r, i, k);
        if (looks_converted(s))
            note_cell(r, "name-looks-converted", i, k,
                      arena_printf(r->arena,
                                   "%s looks like a name that a spreadsheet took for a "
                                   "number or a date",
                                   quoted(r, s)));
        size_t zeros = strspn(s, "0"), digits = strspn(s, "0123456789");
        if (s[digits] == '\0')
            labels[n++] = (struct label){s, s + (zeros < digits ? zeros : digits - 1), i};
    }
    note_nearly_same(r, k, labels, n);
}

void labels_check(struct reading *r)
{
    for (size_t k = 0; k < r->n_columns; k++)
        if (names_something(&r->columns[k]))
            check_column(r, k);
}
