/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Two hands in one file: hold times typed as `2,5` beside weights that a balance wrote as `4.203`.
 * The first settle the mark of the file, and the second would be four kilograms. */
#include <string.h>

#include "decimal.h"
#include "shots.h"

/* Of all readings of one quantity. */
struct readings {
    size_t grouped, plain; /* thousands set off by the other mark; anything else */
    size_t record, column; /* the first grouped one */
};

static void count(const struct reading *r, const struct column_spec *spec, struct readings *out)
{
    struct number x;
    for (size_t i = r->body; i < r->records.n; i++) {
        size_t end = shots_keeps_row(r, i) ? r->n_columns : 0;
        for (size_t k = 0; k < end; k++) {
            const struct column *c = &r->columns[k];
            const char *s = row_cell(r, i, k);
            if (c->want == NULL || c->want->spec != spec ||
                number_parse(s, strlen(s), r->mark, &x) > NUMBER_ABOVE)
                continue;
            bool grouped = (x.repairs & NUMBER_HAD_GROUPS) != 0 &&
                           number_evidence(s, strlen(s)) == EVIDENCE_EITHER;
            if (grouped && out->grouped++ == 0) {
                out->record = i;
                out->column = k;
            }
            out->plain += !grouped;
        }
    }
}

static void refuse(struct reading *r, const struct readings *q, const char *why, size_t record,
                   size_t column)
{
    bool comma = r->mark == MARK_COMMA;
    const char *s = row_cell(r, q->record, q->column), *name = column_name(&r->columns[q->column]);
    const char *small = decimal_as_read(r, s, comma ? MARK_POINT : MARK_COMMA);
    const char *large = decimal_as_read(r, s, r->mark), *mark = comma ? "comma" : "point";
    const char *because =
        why[0] != '\0' ? why : arena_printf(r->arena, "no reading of %s tells", name);
    struct complaint c = {
        DIAG_ERROR,
        "marks-of-two-hands",
        name,
        arena_printf(
            r->arena, "%s in %s can be %s or %s: %s in %s on line %ld has a decimal %s, but %s",
            quoted(r, s), name, small, large, quoted(r, row_cell(r, record, column)),
            column_name(&r->columns[column]), r->records.items[record].line, mark, because),
        "one decimal mark in a file",
        arena_printf(r->arena,
                     "If %s is meant, write all numbers of the file with the same decimal mark; if "
                     "%s is meant, write the numbers of %s without marks between thousands, or put "
                     "the line `# decimal = %s` above the header.",
                     small, large, name, mark)};
    complain_cell(r, &c, q->record, q->column);
    r->decimal = TABLE_DECIMAL_MIXED;
    r->source->decimal = "point and comma";
}

void decimal_check_hands(struct reading *r, size_t record, size_t column)
{
    for (size_t k = 0; k < r->n_columns; k++) {
        struct readings q = {0, 0, 0, 0};
        const char *why = "";
        if (!column_is_quantity(&r->columns[k]) || !column_is_first(r, k))
            continue;
        const struct column_spec *spec = r->columns[k].want->spec;
        count(r, spec, &q);
        if (q.grouped > 0 && q.plain == 0 && decimal_by_range(r, spec, false, &why) != r->mark)
            refuse(r, &q, why, record, column);
    }
}
