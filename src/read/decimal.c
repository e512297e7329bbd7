/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The decimal mark of a file, decided once and by exclusion: by cells with one reading, else by
 * a comma as separator beside points (below), else by the physical ranges of the columns, else by
 * another file of the trial. Never by what is more frequent, and never by semicolons, which come
 * with both marks. */
#include <string.h>

#include "reading.h"

struct found {
    size_t record, column; /* the first cell of its kind */
    size_t count;
};

struct evidence {
    struct found point, comma, either;
    size_t either_with_comma; /* of those with two readings, how many hold a comma */
};

static void add(struct found *f, size_t record, size_t column)
{
    if (f->count++ == 0) {
        f->record = record;
        f->column = column;
    }
}

static bool is_looked_at(const struct column *c)
{
    return c->want != NULL && c->want->spec->dimension != DIM_TEXT;
}

static void gather(const struct reading *r, struct evidence *e)
{
    for (size_t i = r->body; i < r->records.n; i++) {
        if (r->rows[i].kind != ROW_DATA)
            continue;
        for (size_t k = 0; k < r->n_columns; k++) {
            const char *s = row_cell(r, i, k);
            if (!is_looked_at(&r->columns[k]))
                continue;
            switch (number_evidence(s, strlen(s))) {
            case EVIDENCE_NONE:
                break;
            case EVIDENCE_POINT:
                add(&e->point, i, k);
                break;
            case EVIDENCE_COMMA:
                add(&e->comma, i, k);
                break;
            case EVIDENCE_EITHER:
                add(&e->either, i, k);
                e->either_with_comma += strchr(s, ',') != NULL;
                break;
            }
        }
    }
}

/* ---- by range ------------------------------------------------------------------------------- */

#define HEAVY_PART 20e3 /* g */

/* The physical range of a column, narrowed for weights: a part that is off by a factor of fifty
 * from [mold] part_weight is a misread mark, and so, where that is not given, is one of more than
 * 20 kg. `25,123` beside hold times in seconds is a laboratory balance. */
static void range_of(const struct reading *r, const struct column *c, double *low, double *high)
{
    const struct column_spec *spec = c->want->spec;
    *low = spec->low < spec->high ? spec->low : -PL_INF;
    *high = spec->low < spec->high ? spec->high : PL_INF;
    double part = facts_number(r->facts, "mold", "part_weight", PL_NAN);
    double cavities = facts_number(r->facts, "mold", "cavities", 1.0);
    if (spec->dimension != DIM_MASS)
        return;
    bool known = part > 0.0 && strcmp(spec->name, "weight") == 0;
    if (known)
        *low = fmax(*low, part / 50.0);
    *high = fmin(*high, known ? part * cavities * 50.0 : HEAVY_PART);
}

static bool fits(const struct reading *r, const struct column *c, const char *s,
                 enum decimal_mark mark)
{
    struct number x;
    double low, high;
    if (number_parse(s, strlen(s), mark, &x) > NUMBER_ABOVE || c->use == NULL || c->hopeless)
        return true; /* tells nothing */
    range_of(r, c, &low, &high);
    double v = x.value * c->use->factor + c->use->offset;
    return v >= low && v <= high;
}

static enum decimal_mark by_range(const struct reading *r)
{
    bool point = true, comma = true;
    for (size_t i = r->body; i < r->records.n; i++) {
        if (r->rows[i].kind != ROW_DATA)
            continue;
        for (size_t k = 0; k < r->n_columns; k++) {
            const struct column *c = &r->columns[k];
            const char *s = row_cell(r, i, k);
            if (!is_looked_at(c) || number_evidence(s, strlen(s)) != EVIDENCE_EITHER)
                continue;
            point = point && fits(r, c, s, MARK_POINT);
            comma = comma && fits(r, c, s, MARK_COMMA);
        }
    }
    return point == comma ? MARK_NONE_SEEN : point ? MARK_POINT : MARK_COMMA;
}

/* ---- refusals ------------------------------------------------------------------------------- */

#define DECLARE                                                                                    \
    "say `decimal = comma` or `decimal = point` under [files] in trial.ini (a trial is a folder; " \
    "a "                                                                                           \
    "single file has no trial.ini)"

static void refuse_mixed(struct reading *r, const struct evidence *e)
{
    struct complaint c = {
        DIAG_ERROR,
        "mixed-decimal-marks",
        NULL,
        arena_printf(r->arena,
                     "decimal commas and decimal points in one file: %s here, %s on line %ld",
                     quoted(r, row_cell(r, e->comma.record, e->comma.column)),
                     quoted(r, row_cell(r, e->point.record, e->point.column)),
                     r->records.items[e->point.record].line),
        "one decimal mark in a file",
        "Correct the cells that were typed the other way."};
    complain_cell(r, &c, e->comma.record, e->comma.column);
    r->decimal = TABLE_DECIMAL_MIXED;
    r->mark = MARK_POINT;
}

static void refuse_undecided(struct reading *r, const struct evidence *e)
{
    struct number point, comma;
    const char *s = row_cell(r, e->either.record, e->either.column);
    number_parse(s, strlen(s), MARK_POINT, &point);
    number_parse(s, strlen(s), MARK_COMMA, &comma);
    struct complaint c = {DIAG_ERROR,
                          "decimal-undecided",
                          NULL,
                          arena_printf(r->arena,
                                       "%s can be %s or %s, and nothing in the file tells which",
                                       quoted(r, s), arena_printf(r->arena, "%.10g", point.value),
                                       arena_printf(r->arena, "%.10g", comma.value)),
                          "a file in which at least one number has one reading only",
                          "If you know, " DECLARE "."};
    complain_cell(r, &c, e->either.record, e->either.column);
    r->decimal = TABLE_DECIMAL_EITHER;
    r->mark = MARK_POINT;
}

/* ---- the decision --------------------------------------------------------------------------- */

static void settle(struct reading *r, enum decimal_mark mark)
{
    r->mark = mark;
    r->decimal = mark == MARK_COMMA ? TABLE_DECIMAL_COMMA : TABLE_DECIMAL_POINT;
}

/* `4.197` between commas: a point that groups thousands belongs to people whose decimal mark is the
 * comma, and they do not separate cells with it. The most common file of all: a balance that shows
 * three decimals. */
static bool comma_separates_points(const struct reading *r, const struct evidence *e)
{
    return r->separator == ',' && e->either_with_comma == 0;
}

static void decide_ambiguous(struct reading *r, const struct evidence *e)
{
    enum decimal_mark mark = by_range(r);
    long line = r->records.items[e->either.record].line;
    if (comma_separates_points(r, e) && mark != MARK_COMMA) {
        settle(r, MARK_POINT);
        note_repair(r, "decimal-from-separator", NULL, line,
                    "the point is the decimal mark: the commas of this file separate cells");
    } else if (mark != MARK_NONE_SEEN) {
        settle(r, mark);
        note_repair(
            r, "decimal-from-range", NULL, line,
            mark == MARK_COMMA
                ? "the comma is the decimal mark: otherwise readings lie outside the physical "
                  "range"
                : "the point is the decimal mark: otherwise readings lie outside the physical "
                  "range");
    } else if (r->hint != NULL && r->hint->mark != MARK_NONE_SEEN) {
        r->mark = r->hint->mark;
        r->decimal = TABLE_DECIMAL_EITHER;
        note_repair(r, "decimal-from-other-file", NULL, line,
                    arena_printf(r->arena, "the decimal mark is a %s, as in %s",
                                 r->mark == MARK_COMMA ? "comma" : "point", r->hint->file));
    } else {
        refuse_undecided(r, e);
    }
}

void decimal_settle(struct reading *r)
{
    struct evidence e = {.point = {0, 0, 0}};
    const char *said = reading_files_fact(r, "decimal");
    gather(r, &e);
    if (said != NULL)
        settle(r, strcmp(said, "comma") == 0 ? MARK_COMMA : MARK_POINT);
    else if (e.point.count > 0 && e.comma.count > 0)
        refuse_mixed(r, &e);
    else if (e.point.count + e.comma.count > 0)
        settle(r, e.comma.count > 0 ? MARK_COMMA : MARK_POINT);
    else if (e.either.count > 0)
        decide_ambiguous(r, &e);
    bool seen = e.point.count + e.comma.count + e.either.count > 0;
    r->source->decimal = !seen ? "none seen" : r->mark == MARK_COMMA ? "comma" : "point";
}
