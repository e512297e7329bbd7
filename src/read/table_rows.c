/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shots -> the table: one row a shot, one column a quantity and cavity. */
#include <stdlib.h>
#include <string.h>

#include "limits.h"
#include "shot_numbers.h"

struct building {
    struct reading *r;
    struct shots shots;
    struct table *t;
    size_t *first;    /* per column of the file: its (first) column of the table; NO_SHOT: none */
    size_t *records;  /* per shot: how many records it has */
    size_t *excluded; /* and how many of them the user left out */
    size_t *needed;   /* and how many have all needed readings */
    size_t *begin;    /* and its first record */
    bool *refused;    /* per column of the file: its cell in the record at hand was refused */
};

static bool is_long(const struct building *b, size_t k)
{
    return b->r->cavity_column >= 0 && b->r->columns[k].want != NULL &&
           (b->r->columns[k].want->spec->flags & COLUMN_PER_CAVITY) != 0;
}

/* ---- columns -------------------------------------------------------------------------------- */

static void add_column(struct building *b, size_t k, int cavity)
{
    const struct column *c = &b->r->columns[k];
    b->t->columns[b->t->n_columns++] =
        (struct table_column){.spec = c->want->spec,
                              .cavity = cavity,
                              .header = c->head.shown,
                              .unit = c->use != NULL ? c->use : c->unit};
    if (cavity > b->t->cavities)
        b->t->cavities = cavity;
}

/* In the long form one for each cavity; one for all where no row says of which cavity it is. */
static size_t columns_of(const struct building *b, size_t k)
{
    return is_long(b, k) && b->shots.n_cavities > 0 ? b->shots.n_cavities : 1;
}

static int cavity_at(const struct building *b, size_t k, size_t c)
{
    if (!is_long(b, k))
        return b->r->columns[k].head.cavity;
    return b->shots.n_cavities > 0 ? b->shots.cavities[c] : 0;
}

static void make_columns(struct building *b)
{
    struct reading *r = b->r;
    size_t n = 0;
    for (size_t k = 0; k < r->n_columns; k++)
        n += columns_of(b, k);
    b->t->columns = ARENA_ARRAY(r->arena, struct table_column, n);
    b->first = ARENA_ARRAY(r->arena, size_t, r->n_columns);
    for (size_t k = 0; k < r->n_columns; k++) {
        b->first[k] = NO_SHOT;
        const struct want *w = r->columns[k].want;
        if (w == NULL || w->role == ROLE_CAVITY)
            continue;
        b->first[k] = b->t->n_columns;
        for (size_t c = 0; c < columns_of(b, k); c++)
            add_column(b, k, cavity_at(b, k, c));
    }
}

static void finish_columns(struct building *b)
{
    struct reading *r = b->r;
    for (size_t k = 0; k < r->n_columns; k++)
        for (size_t c = 0; b->first[k] != NO_SHOT && c < columns_of(b, k); c++)
            b->t->columns[b->first[k] + c].step = digits_step(&r->columns[k].digits);
}

static size_t column_of(const struct building *b, size_t record, size_t k)
{
    if (!is_long(b, k))
        return b->first[k];
    return b->first[k] + (size_t)b->shots.index[b->shots.cavity[record]];
}

/* ---- cells ---------------------------------------------------------------------------------- */

static const char *joined(struct reading *r, const char *a, const char *b)
{
    if (a[0] == '\0' || strcmp(a, b) == 0)
        return b;
    if (b[0] == '\0' || strstr(a, b) != NULL)
        return a;
    return arena_printf(r->arena, "%s; %s", a, b);
}

/* A value of the shot that several of its rows give: they must agree. */
static void merge_cell(struct building *b, struct cell *have, const struct cell *more,
                       size_t record, size_t k)
{
    struct reading *r = b->r;
    if (more->kind == CELL_MISSING)
        return;
    if (have->kind == CELL_MISSING) {
        *have = *more;
        return;
    }
    if (have->kind == CELL_TEXT && more->kind == CELL_TEXT) {
        have->text = joined(r, have->text, more->text);
        return;
    }
    bool same =
        have->kind == more->kind && !(have->value < more->value) && !(have->value > more->value);
    if (same || b->shots.excluded[record])
        return;
    struct complaint c = {DIAG_ERROR,
                          "differs-within-shot",
                          r->columns[k].want->spec->name,
                          arena_printf(r->arena,
                                       "%s is %s here and %s on line %ld, in the same shot",
                                       r->columns[k].want->spec->name, quoted(r, more->text),
                                       quoted(r, have->text), have->line),
                          "one value for a shot",
                          "Correct the value, or the shot numbers."};
    complain_cell(r, &c, record, k);
}

static bool is_needed(const struct column *c)
{
    return c->want != NULL && (c->want->spec->flags & COLUMN_REQUIRED) != 0 && !c->hopeless &&
           c->want->role == ROLE_VALUE;
}

/* Wide form: a needed reading is there when one cavity has it. */
static const char *lacking(struct building *b, const struct cell *cells, size_t *column)
{
    struct reading *r = b->r;
    for (size_t k = 0; k < r->n_columns; k++) {
        if (!is_needed(&r->columns[k]) || cells[k].kind != CELL_MISSING)
            continue;
        bool other = false;
        for (size_t j = 0; j < r->n_columns; j++)
            other = other ||
                    (r->columns[j].want == r->columns[k].want && cells[j].kind != CELL_MISSING);
        if (other)
            continue;
        *column = k;
        return r->columns[k].want->spec->name;
    }
    return NULL;
}

static void take_word(struct building *b, struct table_row *row, size_t k, const char *s)
{
    switch (b->r->columns[k].want->role) {
    case ROLE_SHOT:
        row->shot = row->shot[0] == '\0' ? s : row->shot;
        break;
    case ROLE_EXCLUDED_BY:
        row->excluded_by = joined(b->r, row->excluded_by, s);
        break;
    case ROLE_NOTE:
        row->note = joined(b->r, row->note, s);
        break;
    case ROLE_DEFECT:
        row->defect = joined(b->r, row->defect, shots_defect(s));
        row->good = row->defect[0] == '\0' && (row->good || shots_says_good(s));
        break;
    case ROLE_VALUE:
    case ROLE_EXCLUDE:
    case ROLE_CAVITY:
        break;
    }
}

static void start_row(struct building *b, struct table_row *row, size_t record)
{
    *row = (struct table_row){.line = b->r->records.items[record].line,
                              .shot = "",
                              .excluded_by = "",
                              .note = "",
                              .defect = "",
                              .cells = ARENA_ARRAY(b->r->arena, struct cell, b->t->n_columns)};
    for (size_t c = 0; c < b->t->n_columns; c++)
        row->cells[c] = (struct cell){.kind = CELL_MISSING, .text = "", .line = row->line};
}

/* A cavity that the user left out of a shot that otherwise stays has no readings in the table. */
static bool drops_cavity(const struct building *b, size_t record)
{
    size_t shot = b->shots.of[record];
    return b->shots.excluded[record] && b->excluded[shot] < b->records[shot];
}

/* Empty cells of columns of numbers; where a needed reading lacks, the row is told instead. */
static void note_empty_cells(struct building *b, size_t record, const struct cell *cells,
                             const char *lacking_name)
{
    struct reading *r = b->r;
    for (size_t k = 0; k < r->n_columns; k++) {
        const struct column *c = &r->columns[k];
        if (c->want == NULL || c->want->spec->dimension == DIM_TEXT || c->empty || c->hopeless ||
            cells[k].text[0] != '\0' || b->shots.excluded[record])
            continue;
        if (lacking_name == NULL || strcmp(lacking_name, c->want->spec->name) != 0)
            note_repair(r, "empty-cell", column_name(c), r->records.items[record].line,
                        "cells without a reading");
    }
}

static void take_record(struct building *b, size_t record, struct cell *cells)
{
    struct reading *r = b->r;
    size_t shot = b->shots.of[record], column = 0;
    struct table_row *row = &b->t->rows[shot];
    bool excluded = b->shots.excluded[record];
    for (size_t k = 0; k < r->n_columns; k++) {
        size_t before = r->refused;
        cells[k] = r->columns[k].want != NULL ? cell_read(r, record, k, excluded)
                                              : (struct cell){.kind = CELL_MISSING, .text = ""};
        b->refused[k] = r->refused > before;
    }
    if (row->cells == NULL)
        start_row(b, row, record);
    for (size_t k = 0; k < r->n_columns; k++) {
        if (b->first[k] == NO_SHOT)
            continue;
        struct cell *have = &row->cells[column_of(b, record, k)];
        if (drops_cavity(b, record) && is_long(b, k)) {
            have->text = cells[k].text;
            have->line = cells[k].line;
            have->repaired = true;
            if (have->kind == CELL_MISSING) {
                have->left_out = cells[k].kind;
                have->value = cells[k].value;
            }
        } else if (!drops_cavity(b, record)) {
            take_word(b, row, k, cells[k].text);
            merge_cell(b, have, &cells[k], record, k);
            if (have->kind == CELL_MISSING)
                *have = cells[k];
        }
    }
    const char *name = lacking(b, cells, &column);
    note_empty_cells(b, record, cells, name);
    b->needed[shot] += name == NULL && !excluded;
    if (name == NULL || excluded)
        return;
    r->rows[record].left_out = true;
    r->rows[record].reason = arena_printf(
        r->arena, b->refused[column] ? "%s cannot be read, see the errors" : "no reading of %s",
        name);
    if (b->refused[column])
        return;
    note_repair(r, "missing-reading", name, r->records.items[record].line,
                "rows without a needed reading are left out");
}

/* ---- rows ----------------------------------------------------------------------------------- */

static void finish_row(struct building *b, size_t shot, size_t record)
{
    struct table_row *row = &b->t->rows[shot];
    bool all = b->excluded[shot] == b->records[shot];
    if (all) {
        row->excluded = row->by_user = true;
        row->reason = b->shots.reason[record];
    } else if (b->needed[shot] == 0) {
        row->excluded = true;
        row->reason =
            b->r->rows[record].reason != NULL ? b->r->rows[record].reason : "no needed reading";
    }
}

/* Long form: a row that was dropped from a shot that stays. */
static void note_dropped_cavities(struct building *b)
{
    for (size_t i = b->r->body; i < b->r->records.n; i++)
        if (b->shots.of[i] != NO_SHOT && drops_cavity(b, i))
            note_repair(b->r, "cavity-left-out", NULL, b->r->records.items[i].line,
                        "single cavities of a shot were left out by the user; the others stay");
}

/* Averages and remarks below the table: no shots, and listed among the rows that are left out. */
static bool is_below(const struct reading *r, size_t record)
{
    return r->rows[record].kind == ROW_SUMMARY || r->rows[record].kind == ROW_FOOTER;
}

static void fill_rows(struct building *b)
{
    struct reading *r = b->r;
    size_t n = b->shots.n, below = 0;
    for (size_t i = r->body; i < r->records.n; i++)
        below += is_below(r, i);
    b->t->rows = ARENA_ARRAY(r->arena, struct table_row, n + below);
    b->records = ARENA_ARRAY(r->arena, size_t, n);
    b->excluded = ARENA_ARRAY(r->arena, size_t, n);
    b->needed = ARENA_ARRAY(r->arena, size_t, n);
    b->begin = ARENA_ARRAY(r->arena, size_t, n);
    b->refused = ARENA_ARRAY(r->arena, bool, r->n_columns);
    struct cell *cells = ARENA_ARRAY(r->arena, struct cell, r->n_columns);
    for (size_t i = r->body; i < r->records.n; i++)
        if (b->shots.of[i] != NO_SHOT) {
            if (b->records[b->shots.of[i]]++ == 0)
                b->begin[b->shots.of[i]] = i;
            b->excluded[b->shots.of[i]] += b->shots.excluded[i];
        }
    size_t *last = ARENA_ARRAY(r->arena, size_t, n);
    for (size_t i = r->body; i < r->records.n; i++)
        if (b->shots.of[i] != NO_SHOT) {
            take_record(b, i, cells);
            last[b->shots.of[i]] = i;
        }
    for (size_t s = 0; s < n; s++)
        finish_row(b, s, last[s]);
    b->t->n_rows = n;
    note_dropped_cavities(b);
}

/* ---- order in time -------------------------------------------------------------------------- */

static int compare_rows(const void *a, const void *b)
{
    const struct table_row *x = a, *y = b;
    if (x->order < y->order || x->order > y->order)
        return x->order < y->order ? -1 : 1;
    return (x->line > y->line) - (x->line < y->line);
}

static void add_below(struct building *b)
{
    struct reading *r = b->r;
    double last = b->t->n_rows > 0 ? b->t->rows[b->t->n_rows - 1].order : 0.0;
    for (size_t i = r->body; i < r->records.n; i++) {
        if (!is_below(r, i))
            continue;
        struct table_row *row = &b->t->rows[b->t->n_rows++];
        start_row(b, row, i);
        row->excluded = true;
        row->reason = r->rows[i].reason;
        row->order = ++last;
    }
}

static void order_rows(struct building *b)
{
    struct table *t = b->t;
    shot_numbers_read(b->r, t, b->begin);
    if (t->n_rows > 0)
        qsort(t->rows, t->n_rows, sizeof *t->rows, compare_rows);
    add_below(b);
}

/* ---- the data as it stood ------------------------------------------------------------------- */

static void list_records(struct building *b)
{
    struct reading *r = b->r;
    struct source *s = r->source;
    s->records = ARENA_ARRAY(r->arena, struct raw_record, r->records.n);
    for (size_t i = r->body; i < r->records.n; i++) {
        const struct row *row = &r->rows[i];
        if (row->kind != ROW_DATA && row->kind != ROW_SUMMARY && row->kind != ROW_FOOTER)
            continue;
        const struct record *rec = &r->records.items[i];
        size_t n = rec->n_cells < r->n_columns ? rec->n_cells : r->n_columns;
        s->records[s->n_records++] = (struct raw_record){.line = rec->line,
                                                         .cells = rec->cells,
                                                         .n_cells = n,
                                                         .left_out = row->left_out,
                                                         .reason = row->reason,
                                                         .repaired = row->repaired};
        s->rows_read++;
        *(row->left_out ? &s->rows_left_out : &s->rows_used) += 1;
    }
}

static bool refuse_size(struct building *b)
{
    struct reading *r = b->r;
    if (b->t->n_columns == 0 || b->shots.n <= LIMIT_TABLE_CELLS / b->t->n_columns)
        return false;
    struct complaint c = {
        DIAG_ERROR,
        "table-too-large",
        NULL,
        arena_printf(r->arena, "%zu shots with %zu columns each", b->shots.n, b->t->n_columns),
        "at most 33554432 values",
        "Split the file, or correct the cavity numbers."};
    complain_file(r, &c);
    return true;
}

void shots_build(struct reading *r, struct table *out)
{
    struct building b = {.r = r, .t = out};
    shots_group(r, &b.shots);
    make_columns(&b);
    if (refuse_size(&b))
        return;
    fill_rows(&b);
    finish_columns(&b);
    order_rows(&b);
    list_records(&b);
}
