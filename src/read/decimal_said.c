/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The decimal mark as a line of the file says it, or as columns show it that nobody reads. */
#include <string.h>

#include "decimal.h"

/* ---- `# decimal = comma` -------------------------------------------------------------------- */

static const char *after_blanks(const char *s)
{
    return s + strspn(s, " \t");
}

static enum decimal_mark said_by(const char *s)
{
    static const char key[] = "decimal";
    if (s[0] != '#')
        return MARK_NONE_SEEN;
    s = after_blanks(s + 1);
    for (size_t i = 0; key[i] != '\0'; i++, s++)
        if ((*s | 32) != key[i])
            return MARK_NONE_SEEN;
    s = after_blanks(s);
    if (*s != '=' && *s != ':')
        return MARK_NONE_SEEN;
    s = after_blanks(s + 1);
    size_t n = strlen(s);
    while (n > 0 && (s[n - 1] == ' ' || s[n - 1] == '\t'))
        n--;
    if (n == 1 || (n == 3 && strchr("'\"`", s[0]) != NULL && s[2] == s[0])) /* `,` or "," */
        return s[n / 2] == ',' ? MARK_COMMA : s[n / 2] == '.' ? MARK_POINT : MARK_NONE_SEEN;
    if (n != 5)
        return MARK_NONE_SEEN;
    char word[6] = "";
    for (size_t i = 0; i < n; i++)
        word[i] = (char)(s[i] | 32);
    return strcmp(word, "comma") == 0   ? MARK_COMMA
           : strcmp(word, "point") == 0 ? MARK_POINT
                                        : MARK_NONE_SEEN;
}

/* In a table that was moved to the right the line stands behind empty cells. */
static const char *first_text(const struct record *rec)
{
    size_t k = 0;
    while (k + 1 < rec->n_cells && rec->cells[k][0] == '\0')
        k++;
    return record_cell(rec, k);
}

enum decimal_mark decimal_said_in_file(struct reading *r, long *line)
{
    enum decimal_mark mark = MARK_NONE_SEEN;
    for (size_t i = 0; i < r->records.n; i++) {
        const struct record *rec = &r->records.items[i];
        if (i >= r->body && r->rows[i].kind != ROW_COMMENT)
            continue;
        enum decimal_mark m = said_by(first_text(rec));
        if (m == MARK_NONE_SEEN || m == mark)
            continue;
        if (mark != MARK_NONE_SEEN) {
            struct complaint c = {
                DIAG_ERROR,
                "decimal-said-twice",
                NULL,
                arena_printf(r->arena, "another decimal mark than on line %ld", *line),
                "one decimal mark in a file",
                "Take one of the two lines out."};
            complain_line(r, &c, i);
            return mark;
        }
        mark = m;
        *line = rec->line;
    }
    return mark;
}

/* ---- columns that nobody reads -------------------------------------------------------------- */

/* A quantity, no date, name or number of a version; `12.30` in a column of hours is a clock. */
static bool holds_quantity(const struct reading *r, size_t k)
{
    const struct unit *u = r->columns[k].want == NULL ? column_unit_of_header(r, k) : NULL;
    return u != NULL && !(u->dimension == DIM_TIME && u->factor > 1.0);
}

enum decimal_mark decimal_by_unused_columns(struct reading *r, const char **why)
{
    enum decimal_mark mark = MARK_NONE_SEEN;
    for (size_t k = 0; k < r->n_columns; k++) {
        if (!holds_quantity(r, k))
            continue;
        for (size_t i = r->body; i < r->records.n; i++) {
            const char *s = row_cell(r, i, k);
            enum number_evidence e = number_evidence(s, strlen(s));
            if (r->rows[i].kind != ROW_DATA || (e != EVIDENCE_POINT && e != EVIDENCE_COMMA))
                continue;
            enum decimal_mark m = e == EVIDENCE_COMMA ? MARK_COMMA : MARK_POINT;
            if (mark != MARK_NONE_SEEN && m != mark)
                return MARK_NONE_SEEN;
            if (mark == MARK_NONE_SEEN)
                *why = arena_printf(r->arena, "%s in the column %s on line %ld", quoted(r, s),
                                    quoted(r, r->columns[k].head.shown), r->records.items[i].line);
            mark = m;
        }
    }
    return mark;
}
