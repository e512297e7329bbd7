/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The decimal mark of a file, decided once and by exclusion: as [files] or a line of the file says
 * it, else by cells with one reading, else by columns that nobody reads, by a comma as separator
 * beside points (below), by what can be, or by another file of the trial. Never by what is more
 * frequent, and never by semicolons, which come with both marks. */
#include <string.h>

#include "decimal.h"

struct found {
    size_t record, column; /* the first cell of its kind */
    size_t count;
};

struct evidence {
    struct found point, comma, either;
    size_t either_with_comma;            /* of those with two readings, how many hold a comma */
    struct found bare_point, bare_comma; /* `5.`: a full stop behind a whole number looks alike */
};

static void add(struct found *f, size_t record, size_t column)
{
    if (f->count++ == 0) {
        f->record = record;
        f->column = column;
    }
}

static bool ends_with(const char *s, char mark)
{
    size_t n = strlen(s);
    return n > 0 && s[n - 1] == mark;
}

static void gather(const struct reading *r, struct evidence *e)
{
    for (size_t i = r->body; i < r->records.n; i++) {
        if (r->rows[i].kind != ROW_DATA)
            continue;
        for (size_t k = 0; k < r->n_columns; k++) {
            const char *s = row_cell(r, i, k);
            if (!column_is_quantity(&r->columns[k]))
                continue;
            switch (number_evidence(s, strlen(s))) {
            case EVIDENCE_NONE:
                break;
            case EVIDENCE_POINT:
                add(ends_with(s, '.') ? &e->bare_point : &e->point, i, k);
                break;
            case EVIDENCE_COMMA:
                add(ends_with(s, ',') ? &e->bare_comma : &e->comma, i, k);
                break;
            case EVIDENCE_EITHER:
                add(&e->either, i, k);
                e->either_with_comma += strchr(s, ',') != NULL;
                break;
            }
        }
    }
}

/* ---- refusals ------------------------------------------------------------------------------- */

static const char *mark_name(enum decimal_mark mark)
{
    return mark == MARK_COMMA ? "comma" : "point";
}

static enum decimal_mark other(enum decimal_mark mark)
{
    return mark == MARK_COMMA ? MARK_POINT : MARK_COMMA;
}

/* Both marks as decimal marks: told where the rarer one stands, or the one that comes in later.
 * Nothing is decided by that; the file is refused. */
static void refuse_mixed(struct reading *r, const struct evidence *e)
{
    bool later = e->comma.record == e->point.record ? e->comma.column > e->point.column
                                                    : e->comma.record > e->point.record;
    bool commas = e->comma.count == e->point.count ? later : e->comma.count < e->point.count;
    const struct found *odd = commas ? &e->comma : &e->point;
    const struct found *rest = commas ? &e->point : &e->comma;
    const char *have = mark_name(commas ? MARK_COMMA : MARK_POINT);
    const char *want = mark_name(commas ? MARK_POINT : MARK_COMMA);
    struct complaint c = {
        DIAG_ERROR,
        "mixed-decimal-marks",
        NULL,
        arena_printf(r->arena, "%s has a decimal %s, but %s on line %ld a decimal %s",
                     quoted(r, row_cell(r, odd->record, odd->column)), have,
                     quoted(r, row_cell(r, rest->record, rest->column)),
                     r->records.items[rest->record].line, want),
        "one decimal mark in a file",
        arena_printf(r->arena,
                     "Look up what was meant, and write all numbers with a decimal %s (or all with "
                     "a decimal %s).",
                     want, have)};
    for (size_t i = odd->record; i < r->records.n; i++)
        for (size_t k = 0; r->rows[i].kind == ROW_DATA && k < r->n_columns; k++) {
            const char *s = row_cell(r, i, k);
            if (column_is_quantity(&r->columns[k]) &&
                number_evidence(s, strlen(s)) == (commas ? EVIDENCE_COMMA : EVIDENCE_POINT))
                complain_cell(r, &c, i, k);
        }
    r->decimal = TABLE_DECIMAL_MIXED;
    r->mark = commas ? MARK_POINT : MARK_COMMA;
    r->source->decimal = "point and comma";
}

bool decimal_is_settled(const struct reading *r)
{
    return r->decimal != TABLE_DECIMAL_MIXED &&
           (r->decimal != TABLE_DECIMAL_EITHER || r->hint != NULL);
}

const char *decimal_as_read(struct reading *r, const char *s, enum decimal_mark mark)
{
    struct number x;
    number_parse(s, strlen(s), mark, &x);
    return arena_printf(r->arena, "%.10g", x.value);
}

static void refuse_undecided(struct reading *r, const struct evidence *e)
{
    const char *s = row_cell(r, e->either.record, e->either.column);
    enum decimal_mark small = strchr(s, ',') != NULL ? MARK_COMMA : MARK_POINT;
    const char *below = decimal_as_read(r, s, small), *above = decimal_as_read(r, s, other(small));
    const char *small_name = mark_name(small), *large_name = mark_name(other(small));
    struct complaint c = {
        DIAG_ERROR,
        "decimal-undecided",
        NULL,
        arena_printf(r->arena, "%s can be %s or %s, and nothing tells which", quoted(r, s), below,
                     above),
        "a number that has one reading only, in this file or in another one of the trial",
        arena_printf(
            r->arena,
            "If %s is meant, put the line `# decimal = %s` above the header, or `%s.decimal "
            "= %s` under [files] in trial.ini; if %s is meant, `%s` in its place.",
            below, small_name, r->study->name, small_name, above, large_name)};
    complain_cell(r, &c, e->either.record, e->either.column);
    r->decimal = TABLE_DECIMAL_EITHER;
    r->mark = MARK_POINT;
    r->source->decimal = "not settled";
}

static bool has_mark(const struct reading *r, size_t i, size_t k, char mark)
{
    const char *s = row_cell(r, i, k);
    return column_is_quantity(&r->columns[k]) && number_evidence(s, strlen(s)) == EVIDENCE_EITHER &&
           strchr(s, mark) != NULL;
}

/* `3.828` and `4,096`: one of the two marks is the decimal mark, and nothing tells which. Told of
 * the rarer one. */
static void refuse_both(struct reading *r, const struct evidence *e)
{
    bool commas = 2 * e->either_with_comma <= e->either.count;
    char odd = commas ? ',' : '.', rest = commas ? '.' : ',';
    size_t record = NO_RECORD, column = 0;
    for (size_t i = r->body; i < r->records.n && record == NO_RECORD; i++)
        for (size_t k = 0; k < r->n_columns && r->rows[i].kind == ROW_DATA; k++)
            if (record == NO_RECORD && has_mark(r, i, k, rest)) {
                record = i;
                column = k;
            }
    for (size_t i = r->body; i < r->records.n; i++)
        for (size_t k = 0; k < r->n_columns && r->rows[i].kind == ROW_DATA; k++) {
            if (!has_mark(r, i, k, odd))
                continue;
            struct complaint c = {
                DIAG_ERROR,
                "mixed-decimal-marks",
                NULL,
                arena_printf(r->arena, "%s has a %s before three digits, but %s on line %ld a %s",
                             quoted(r, row_cell(r, i, k)),
                             mark_name(commas ? MARK_COMMA : MARK_POINT),
                             quoted(r, row_cell(r, record, column)), r->records.items[record].line,
                             mark_name(commas ? MARK_POINT : MARK_COMMA)),
                "one decimal mark in a file",
                "Look up what was meant, write all numbers with one decimal mark, and none between "
                "thousands."};
            complain_cell(r, &c, i, k);
        }
    r->decimal = TABLE_DECIMAL_MIXED;
    r->mark = MARK_POINT;
    r->source->decimal = "point and comma";
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

/* A column that nobody reads counts where its decimal mark is the only mark there is; beside
 * another one it could come from another hand. */
static enum decimal_mark by_unused_columns(struct reading *r, const struct evidence *e,
                                           const char **why)
{
    enum decimal_mark mark = decimal_by_unused_columns(r, why);
    size_t same =
        mark == MARK_COMMA ? e->either_with_comma : e->either.count - e->either_with_comma;
    return same == e->either.count ? mark : MARK_NONE_SEEN;
}

static void decide_ambiguous(struct reading *r, const struct evidence *e)
{
    const char *range = "", *column = "";
    enum decimal_mark by_range = decimal_by_range(r, NULL, false, &range);
    enum decimal_mark by_column = by_unused_columns(r, e, &column);
    long line = r->records.items[e->either.record].line;
    bool contradict =
        by_range != MARK_NONE_SEEN && by_column != MARK_NONE_SEEN && by_range != by_column;
    if (contradict) {
        refuse_undecided(r, e);
    } else if (by_column != MARK_NONE_SEEN) {
        settle(r, by_column);
        note_repair(r, "decimal-from-column", NULL, line,
                    arena_printf(r->arena, "the %s is the decimal mark, as in %s",
                                 mark_name(by_column), column));
    } else if (comma_separates_points(r, e) && by_range != MARK_COMMA) {
        settle(r, MARK_POINT);
        note_repair(r, "decimal-from-separator", NULL, line,
                    "the point is the decimal mark: the commas of this file separate cells");
    } else if (by_range != MARK_NONE_SEEN) {
        settle(r, by_range);
        note_repair(r, "decimal-from-range", NULL, line,
                    arena_printf(r->arena, "the %s is the decimal mark: otherwise %s",
                                 mark_name(by_range), range));
    } else if (r->hint != NULL && r->hint->mark != MARK_NONE_SEEN &&
               (r->hint->mark == MARK_COMMA ? e->either_with_comma == e->either.count
                                            : e->either_with_comma == 0)) {
        /* another file tells decimals from thousands only where its mark stands here */
        r->mark = r->hint->mark;
        r->decimal = TABLE_DECIMAL_EITHER;
        note_repair(r, "decimal-from-other-file", NULL, line,
                    arena_printf(r->arena, "the decimal mark is a %s, as in %s", mark_name(r->mark),
                                 r->hint->file));
    } else if (e->either_with_comma > 0 && e->either_with_comma < e->either.count) {
        refuse_both(r, e);
    } else {
        refuse_undecided(r, e);
    }
}

/* [files], or a line of the file; MARK_NONE_SEEN: neither says anything. */
static enum decimal_mark said(struct reading *r)
{
    long line = 0;
    const char *word = reading_files_fact(r, "decimal");
    enum decimal_mark mark = decimal_said_in_file(r, &line);
    enum decimal_mark there = word == NULL                 ? MARK_NONE_SEEN
                              : strcmp(word, "comma") == 0 ? MARK_COMMA
                                                           : MARK_POINT;
    if (mark != MARK_NONE_SEEN && there != MARK_NONE_SEEN && mark != there) {
        struct complaint c = {
            DIAG_ERROR,
            "decimal-said-twice",
            NULL,
            arena_printf(r->arena, "line %ld says decimal = %s, trial.ini says %s under [files]",
                         line, mark_name(mark), mark_name(there)),
            "one decimal mark for a file",
            "Take one of the two lines out."};
        complain_file(r, &c);
    }
    if (mark != MARK_NONE_SEEN)
        note_repair(r, "decimal-line", NULL, line, "a line of the file says its decimal mark");
    if (mark != MARK_NONE_SEEN)
        r->mark_said = arena_printf(r->arena, "on line %ld of the file", line);
    else if (there != MARK_NONE_SEEN)
        r->mark_said = "under [files] in trial.ini";
    return mark != MARK_NONE_SEEN ? mark : there;
}

/* The mark that was said makes readings impossible, and the other one does not. */
static void check_given(struct reading *r, const struct evidence *e)
{
    const char *why = "";
    enum decimal_mark mark = decimal_by_range(r, NULL, true, &why);
    if (mark == MARK_NONE_SEEN || mark == r->mark)
        return;
    struct complaint c = {
        DIAG_ERROR,
        "other-decimal-mark",
        NULL,
        arena_printf(r->arena, "decimal = %s is given %s, but then %s", mark_name(r->mark),
                     r->mark_said, why),
        arena_printf(r->arena, "numbers with a decimal %s", mark_name(r->mark)),
        arena_printf(r->arena,
                     "Say decimal = %s %s if that is meant; else correct the numbers, their unit "
                     "or trial.ini.",
                     mark_name(mark), r->mark_said)};
    complain_cell(r, &c, e->either.record, e->either.column);
}

/* [files] decimal, said for all files, in one whose numbers all have the other mark before three
 * digits: a balance may have written it. The same said of this study or in the file itself counts.
 */
static void check_said_for_all(struct reading *r, const struct evidence *e)
{
    const char *own = arena_printf(r->arena, "%s.decimal", r->study->name), *why = "";
    bool comma = r->mark == MARK_COMMA;
    size_t with_mark = comma ? e->either_with_comma + e->comma.count
                             : e->either.count - e->either_with_comma + e->point.count;
    for (size_t i = 0; i < r->source->n_repairs; i++)
        if (strcmp(r->source->repairs[i].code, "decimal-line") == 0)
            return;
    if (e->either.count == 0 || with_mark > 0 || facts_text(r->facts, "files", own) != NULL ||
        decimal_by_range(r, NULL, false, &why) == r->mark)
        return;
    const char *s = row_cell(r, e->either.record, e->either.column);
    const char *small = decimal_as_read(r, s, other(r->mark)),
               *large = decimal_as_read(r, s, r->mark);
    struct complaint c = {
        DIAG_ERROR,
        "decimal-said-for-all",
        NULL,
        arena_printf(r->arena,
                     "decimal = %s is given for all files, but this one has no decimal %s, and %s "
                     "can be %s or %s",
                     mark_name(r->mark), mark_name(r->mark), quoted(r, s), small, large),
        "numbers with the decimal mark that is given",
        arena_printf(
            r->arena,
            "If %s is meant, add `%s = %s` under [files] in trial.ini; if %s is meant, `%s "
            "= %s`.",
            small, own, mark_name(other(r->mark)), large, own, mark_name(r->mark))};
    complain_cell(r, &c, e->either.record, e->either.column);
}

void decimal_settle(struct reading *r)
{
    struct evidence e = {.point = {0, 0, 0}};
    enum decimal_mark given = said(r);
    gather(r, &e);
    if (given != MARK_NONE_SEEN) {
        settle(r, given);
        size_t told = r->told;
        check_given(r, &e);
        if (r->told == told)
            check_said_for_all(r, &e);
    } else if (e.point.count > 0 && e.comma.count > 0) {
        refuse_mixed(r, &e);
    } else if (e.point.count + e.comma.count > 0) {
        const struct found *by = e.comma.count > 0 ? &e.comma : &e.point;
        settle(r, e.comma.count > 0 ? MARK_COMMA : MARK_POINT);
        if (e.either.count > 0)
            decimal_check_hands(r, by->record, by->column);
    } else if (e.either.count > 0) {
        decide_ambiguous(r, &e);
    } else if (e.bare_point.count + e.bare_comma.count > 0) {
        settle(r, e.bare_comma.count > e.bare_point.count ? MARK_COMMA : MARK_POINT);
    }
    if (r->decimal == TABLE_DECIMAL_MIXED || strcmp(r->source->decimal, "not settled") == 0)
        return;
    bool seen =
        e.point.count + e.comma.count + e.either.count > 0 || r->decimal != TABLE_DECIMAL_NONE;
    r->source->decimal = !seen ? "none seen" : mark_name(r->mark);
}
