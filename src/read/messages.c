/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "fold.h"
#include "reading.h"

static bool same(const char *a, const char *b)
{
    return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

/* True when three places of this kind are known already. */
static bool is_full(const struct reading *r, const struct complaint *c)
{
    for (size_t i = 0; i < r->diags->n; i++) {
        const struct diag *d = &r->diags->items[i];
        if (d->severity == c->severity && same(d->file, r->name) && same(d->code, c->code) &&
            same(d->column, c->column))
            return d->count >= PL_COUNT(d->places);
    }
    return false;
}

/* Whatever of a file went into a text: nothing that a terminal would obey. */
static const char *harmless(const struct reading *r, const char *s)
{
    return s != NULL ? text_harmless(r->arena, s, strlen(s)) : NULL;
}

static void add(struct reading *r, const struct complaint *c, const struct diag_place *place)
{
    struct diag d = {
        .severity = c->severity, .code = c->code, .file = r->name, .column = c->column};
    if (!is_full(r, c)) {
        r->told++;
        d.message = harmless(r, c->message);
        d.expected = harmless(r, c->expected);
        d.remedy = harmless(r, c->remedy);
    }
    diag_add(r->diags, &d, place);
}

void complain_bytes(struct reading *r, const struct complaint *c, long line, size_t start,
                    size_t at, size_t to)
{
    struct diag_place p = {.line = line};
    if (!is_full(r, c))
        p = text_place(r->arena, r->text.s, r->text.length, line, start, at, to);
    add(r, c, &p);
}

void complain_cell(struct reading *r, const struct complaint *c, size_t record, size_t column)
{
    const struct record *rec = &r->records.items[record];
    struct diag_place p = {.line = rec->line};
    if (!is_full(r, c)) {
        struct cell_span s = record_span(r->text.s, rec, r->separator, column);
        p = text_place(r->arena, r->text.s, r->text.length, s.line, s.start, s.from, s.to);
        /* a sheet has one row for each record, however many lines a cell holds */
        diag_address(p.address, (long)column + 1, rec->row + r->rows_above);
    }
    add(r, c, &p);
}

void complain_line(struct reading *r, const struct complaint *c, size_t record)
{
    const struct record *rec = &r->records.items[record];
    complain_bytes(r, c, rec->line, rec->start, rec->from, rec->to);
}

void complain_file(struct reading *r, const struct complaint *c)
{
    struct diag_place p = {.line = 0};
    add(r, c, &p);
}

void note_repair(struct reading *r, const char *code, const char *column, long line,
                 const char *text)
{
    struct source *s = r->source;
    struct repair *kept = NULL;
    for (size_t i = 0; i < s->n_repairs && kept == NULL; i++)
        if (strcmp(s->repairs[i].code, code) == 0 && same(s->repairs[i].column, column))
            kept = &s->repairs[i];
    if (kept == NULL) {
        kept = ARENA_PUSH(r->arena, s->repairs, s->n_repairs, r->cap_repairs);
        *kept = (struct repair){.code = code, .text = harmless(r, text), .column = column};
    }
    if (kept->count < PL_COUNT(kept->lines))
        kept->lines[kept->count] = line;
    kept->count++;
}

void note_cell(struct reading *r, const char *code, size_t record, size_t column, const char *text)
{
    struct row *row = &r->rows[record];
    if (row->repaired == NULL)
        row->repaired = ARENA_ARRAY(r->arena, bool, r->n_columns);
    row->repaired[column] = true;
    note_repair(r, code, column_name(&r->columns[column]), r->records.items[record].line, text);
}

const char *row_cell(const struct reading *r, size_t record, size_t k)
{
    const struct row *row = &r->rows[record];
    if (row->filled != NULL)
        return k < r->n_columns ? row->filled[k] : "";
    return record_cell(&r->records.items[record], k);
}

const char *column_name(const struct column *c)
{
    return c->want != NULL ? c->want->spec->name : c->head.shown;
}

bool column_is_quantity(const struct column *c)
{
    return c->want != NULL && c->want->spec->dimension != DIM_TEXT;
}

bool column_is_first(const struct reading *r, size_t k)
{
    for (size_t j = 0; j < k; j++)
        if (r->columns[j].want != NULL && r->columns[j].want->spec == r->columns[k].want->spec)
            return false;
    return true;
}

#define APART 1.5 /* thousands are off by a thousand, units mostly by more than this */

bool is_among(double v, double low, double high)
{
    return v >= (low > 0.0 ? low / APART : low * APART) &&
           v <= (high > 0.0 ? high * APART : high / APART);
}

#define QUOTED_BYTES 60

const char *shortened(struct reading *r, const char *s)
{
    size_t n = strlen(s);
    bool cut = n > QUOTED_BYTES;
    for (n = cut ? QUOTED_BYTES : n; cut && n > 0 && ((unsigned char)s[n] & 0xC0) == 0x80;)
        n--;
    const char *shown = text_harmless(r->arena, s, n);
    return cut ? arena_printf(r->arena, "%s...", shown) : shown;
}

const char *quoted(struct reading *r, const char *s)
{
    return arena_printf(r->arena, "'%s'", shortened(r, s));
}
