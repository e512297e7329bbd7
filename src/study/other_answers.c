/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The study once more with the shots that its author left out, and without those that stand off.
 * Nothing is decided by it: whoever reviews what was left out sees what hangs on it. */
#include <stdlib.h>
#include <string.h>

#include "study_internal.h"

#define LINES_NAMED 3

/* Shots that the other answer puts back or leaves out. */
struct other_shots {
    bool *is; /* by row */
    size_t n;
    size_t readings; /* put back into shots that stay: cavities of the long form */
};

static struct table copy_of(const struct suspect *s, struct other_shots *shots)
{
    struct table t = *s->table;
    *shots = (struct other_shots){.is = ARENA_ARRAY(s->a, bool, t.n_rows)};
    t.rows = ARENA_ARRAY(s->a, struct table_row, t.n_rows);
    if (t.n_rows > 0)
        memcpy(t.rows, s->table->rows, t.n_rows * sizeof *t.rows);
    return t;
}

static size_t used_rows(const struct table *t)
{
    size_t n = 0;
    for (size_t i = 0; i < t->n_rows; i++)
        n += !t->rows[i].excluded;
    return n;
}

/* ---- which shots ----------------------------------------------------------------------------- */

/* As the reader counts: of a column per cavity one reading is enough. */
static bool has_needed(const struct table *t, const struct table_row *row)
{
    for (size_t i = 0; i < t->n_columns; i++) {
        bool has = (t->columns[i].spec->flags & COLUMN_REQUIRED) == 0;
        for (size_t k = 0; k < t->n_columns && !has; k++)
            has = t->columns[k].spec == t->columns[i].spec && row->cells[k].kind != CELL_MISSING;
        if (!has)
            return false;
    }
    return true;
}

/* Cavities that were left out of a shot that stays get their readings back. */
static size_t put_cavities_back(const struct suspect *s, struct table_row *row)
{
    size_t n = 0;
    struct cell *cells = NULL;
    for (size_t i = 0; i < s->table->n_columns; i++) {
        if (row->cells[i].kind != CELL_MISSING || row->cells[i].left_out == CELL_MISSING)
            continue;
        if (cells == NULL) {
            cells = ARENA_ARRAY(s->a, struct cell, s->table->n_columns);
            memcpy(cells, row->cells, s->table->n_columns * sizeof *cells);
        }
        cells[i].kind = cells[i].left_out;
        n++;
    }
    if (cells != NULL)
        row->cells = cells;
    return n;
}

/* Returns whether there are any, in which case the table has them. */
static bool put_back(const struct suspect *s, struct table *t, struct other_shots *shots)
{
    for (size_t i = 0; i < t->n_rows; i++) {
        struct table_row *row = &t->rows[i];
        shots->readings += put_cavities_back(s, row);
        if (!row->excluded || !row->by_user || !has_needed(t, row))
            continue;
        row->excluded = row->by_user = false;
        row->reason = NULL;
        shots->is[i] = true;
        shots->n++;
    }
    return shots->n + shots->readings > 0;
}

static bool is_odd(const struct suspect *s, size_t row)
{
    const struct table_row *r = &s->table->rows[row];
    const char *file = study_file(s->table, row);
    for (size_t i = 0; i < s->f->n_flags; i++) {
        const struct flag *g = &s->f->flags[i];
        bool odd = strcmp(g->code, "outlier") == 0 || strcmp(g->code, "stray-shot") == 0;
        if (odd && g->line == r->line && g->file != NULL && strcmp(g->file, file) == 0)
            return true;
    }
    return false;
}

static bool leave_odd_out(const struct suspect *s, struct table *t, struct other_shots *shots)
{
    for (size_t i = 0; i < t->n_rows; i++) {
        if (t->rows[i].excluded || !is_odd(s, i))
            continue;
        t->rows[i].excluded = true;
        t->rows[i].reason = "stands off"; /* a row is left out for a reason, or it is used */
        shots->is[i] = true;
        shots->n++;
    }
    return shots->n > 0 && used_rows(t) > 0;
}

/* ---- words ----------------------------------------------------------------------------------- */

/* " (line 7)", " (lines 7, 9 and 12)"; of many nothing. */
static const char *lines_of(const struct suspect *s, const struct other_shots *shots)
{
    struct text t;
    text_init(&t, s->a);
    size_t k = 0;
    for (size_t i = 0; i < s->table->n_rows && shots->n <= LINES_NAMED; i++) {
        if (!shots->is[i])
            continue;
        const char *before = k == 0              ? shots->n == 1 ? " (line " : " (lines "
                             : k + 1 == shots->n ? " and "
                                                 : ", ";
        text_addf(&t, "%s%ld", before, s->table->rows[i].line);
        k++;
    }
    if (k > 0)
        text_add_char(&t, ')');
    return t.s;
}

static const char *odd_name(const struct suspect *s, const struct other_shots *shots)
{
    if (shots->n == 1)
        return arena_printf(s->a, "the shot that stands off%s", lines_of(s, shots));
    return arena_printf(s->a, "the %zu shots that stand off%s", shots->n, lines_of(s, shots));
}

static const char *excluded_name(const struct suspect *s, const struct other_shots *shots)
{
    struct text t;
    text_init(&t, s->a);
    if (shots->n == 1)
        text_addf(&t, "the excluded shot%s", lines_of(s, shots));
    else if (shots->n > 1)
        text_addf(&t, "the %zu excluded shots%s", shots->n, lines_of(s, shots));
    const char *joint = shots->n > 0 ? " and the" : "the";
    if (shots->readings == 1)
        text_addf(&t, "%s excluded reading of one cavity", joint);
    else if (shots->readings > 1)
        text_addf(&t, "%s %zu excluded readings of single cavities", joint, shots->readings);
    return t.s;
}

/* ---- the answers ----------------------------------------------------------------------------- */

static int by_place(const void *a, const void *b)
{
    const struct row_use *x = a, *y = b;
    int file = strcmp(x->file, y->file);
    return file != 0 ? file : (x->line > y->line) - (x->line < y->line);
}

/* How many of the shots that were put back the study can use. */
static size_t usable(const struct suspect *s, const struct other_shots *shots,
                     const struct finding *other)
{
    size_t n = shots->n, m = other->n_left_out;
    struct row_use *left_out = ARENA_ARRAY(s->a, struct row_use, m);
    if (m == 0)
        return n;
    memcpy(left_out, other->left_out, m * sizeof *left_out);
    qsort(left_out, m, sizeof *left_out, by_place);
    for (size_t i = 0; i < s->table->n_rows; i++) {
        struct row_use row = {.file = study_file(s->table, i), .line = s->table->rows[i].line};
        if (shots->is[i] && bsearch(&row, left_out, m, sizeof *left_out, by_place) != NULL)
            n--;
    }
    return n;
}

static struct other_answer *note(struct finding *f, enum other_shots_kind which, size_t shots,
                                 const struct finding *other)
{
    struct other_answer *o = finding_other_answer(f, which);
    o->shots = shots;
    o->rows_used = other->rows_used;
    o->verdict = other->verdict;
    o->decision = other->decision;
    o->quantities = other->quantities;
    o->n_quantities = other->n_quantities;
    o->criteria = other->criteria;
    o->n_criteria = other->n_criteria;
    o->bounds = other->bounds;
    o->n_bounds = other->n_bounds;
    return o;
}

static const char *sentence_of(const struct suspect *s, const char *beginning,
                               const struct other_answer *o)
{
    const char *was = s->f->decision, *now = o->decision;
    if (o->reason != NULL)
        return arena_printf(s->a, "%s there is no answer: %s", beginning, o->reason);
    if (now == NULL)
        return NULL;
    if (was != NULL && strcmp(was, now) == 0)
        return arena_printf(s->a, "%s the answer is the same.", beginning);
    return arena_printf(s->a, "%s the answer is: %s", beginning, now);
}

/* Shots that the study refuses may be left out for that very reason. */
static enum errc analyze_again(const struct suspect *s, const struct table *t, struct finding *out,
                               const char **refused, struct error *e)
{
    struct error why = {.code = ERR_NONE};
    finding_init(out, s->a, s->f->study, s->f->title);
    enum errc code = study_analyze(s->study, s->trial, t, out, &why);
    *refused = code == ERR_INPUT || code == ERR_NUMERIC ? arena_copy(s->a, why.message) : NULL;
    if (code == ERR_NONE)
        return ERR_NONE;
    finding_init(out, s->a, s->f->study, s->f->title);
    if (*refused != NULL)
        return ERR_NONE;
    *e = why;
    return code;
}

static enum errc with_excluded(const struct suspect *s, struct error *e)
{
    struct other_shots shots;
    struct table t = copy_of(s, &shots);
    struct finding other;
    const char *refused;
    if (!put_back(s, &t, &shots))
        return ERR_NONE;
    TRY(analyze_again(s, &t, &other, &refused, e));
    size_t n = usable(s, &shots, &other);
    if (n == 0 && shots.readings == 0)
        return ERR_NONE;
    const char *name = excluded_name(s, &shots);
    struct other_answer *o = note(s->f, SHOTS_WITH_EXCLUDED, n, &other);
    o->title = n == shots.n ? arena_printf(s->a, "with %s", name)
                            : arena_printf(s->a, "with %s, %zu of them usable", name, n);
    o->reason = refused;
    s->f->with_excluded = sentence_of(s, arena_printf(s->a, "With %s", name), o);
    return ERR_NONE;
}

static enum errc without_odd(const struct suspect *s, struct error *e)
{
    struct other_shots shots;
    struct table t = copy_of(s, &shots);
    struct finding other;
    const char *refused;
    if (!leave_odd_out(s, &t, &shots))
        return ERR_NONE;
    TRY(analyze_again(s, &t, &other, &refused, e));
    const char *name = odd_name(s, &shots);
    struct other_answer *o = note(s->f, SHOTS_WITHOUT_ODD, shots.n, &other);
    o->title = arena_printf(s->a, "without %s", name);
    o->reason = refused;
    s->f->without_odd = sentence_of(s, arena_printf(s->a, "Without %s", name), o);
    return ERR_NONE;
}

enum errc study_other_answers(const struct suspect *s, struct error *e)
{
    TRY(with_excluded(s, e));
    return without_odd(s, e);
}
