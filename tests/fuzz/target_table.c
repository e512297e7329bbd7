/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One file from bytes to table. The first byte chooses the study; where it is a capital, a
 * trial.ini stands in front of the file, up to the first byte 1. Without errors the table is what
 * studies rely on: needed columns are there, values are finite and in range, lines are in the
 * file. */
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "read/number.h"
#include "read/table.h"

struct reading_of {
    struct arena *arena;
    const char *bytes;
    size_t n;
    const struct study_input *study;
    struct facts facts;
    size_t lines;
};

static void take_facts(struct reading_of *f)
{
    const char *end = memchr(f->bytes, 1, f->n);
    size_t n = end != NULL ? (size_t)(end - f->bytes) : 0;
    struct diag_list diags;
    struct error e = {.code = ERR_NONE};
    diag_init(&diags, f->arena);
    enum errc code =
        facts_load_bytes(f->arena, "trial.ini", f->bytes, n, fuzz_request(), &f->facts, &diags, &e);
    FUZZ_CHECK(code == ERR_NONE, "%s", e.message);
    if (end != NULL) {
        f->bytes = end + 1;
        f->n -= n + 1;
    }
}

static void check_value(const struct reading_of *f, const struct table_column *c,
                        const struct table_row *row, const struct cell *x)
{
    FUZZ_CHECK(x->text != NULL, "a cell without text");
    FUZZ_CHECK(x->line >= 0 && (size_t)x->line <= f->lines, "a cell on line %ld", x->line);
    if (x->kind != CELL_VALUE && x->kind != CELL_BELOW && x->kind != CELL_ABOVE)
        return;
    FUZZ_CHECK(c->spec->dimension != DIM_TEXT, "a number in the text column %s", c->spec->name);
    FUZZ_CHECK(isfinite(x->value), "%s: %g", c->spec->name, x->value);
    FUZZ_CHECK(x->kind == CELL_VALUE || (c->spec->flags & COLUMN_CENSORED) != 0 || row->excluded,
               "%s: a limit for a reading", c->spec->name);
    if (!row->excluded && x->kind == CELL_VALUE)
        FUZZ_CHECK(x->value >= c->spec->low && x->value <= c->spec->high, "%s: %g is out of range",
                   c->spec->name, x->value);
}

static void check_rows(const struct reading_of *f, const struct table *t)
{
    for (size_t i = 0; i < t->n_rows; i++) {
        const struct table_row *r = &t->rows[i];
        FUZZ_CHECK(r->line >= 1 && (size_t)r->line <= f->lines, "a row on line %ld", r->line);
        FUZZ_CHECK(isfinite(r->order), "a row without a place in time");
        FUZZ_CHECK(i == 0 || t->rows[i - 1].order <= r->order, "rows are not in order");
        FUZZ_CHECK(r->source < t->n_sources, "a row of no file");
        FUZZ_CHECK(r->shot != NULL && r->note != NULL && r->defect != NULL, "a row without words");
        FUZZ_CHECK(!r->excluded || r->reason != NULL, "left out without a reason");
        for (size_t k = 0; k < t->n_columns; k++)
            check_value(f, &t->columns[k], r, &r->cells[k]);
    }
}

static void check_columns(const struct reading_of *f, const struct table *t)
{
    for (size_t i = 0; i < t->n_columns; i++) {
        const struct table_column *c = &t->columns[i];
        FUZZ_CHECK(c->spec != NULL && c->header != NULL, "a column without a name");
        FUZZ_CHECK(c->cavity >= 0 && c->cavity <= t->cavities, "cavity %d of %d", c->cavity,
                   t->cavities);
        FUZZ_CHECK(c->step >= 0.0, "%s: step %g", c->spec->name, c->step);
        for (size_t k = 0; k < i; k++)
            FUZZ_CHECK(t->columns[k].spec != c->spec || t->columns[k].cavity != c->cavity,
                       "%s is there twice", c->spec->name);
    }
    for (size_t i = 0; i < f->study->n_columns; i++) {
        const struct column_spec *s = &f->study->columns[i];
        bool found = (s->flags & COLUMN_REQUIRED) == 0;
        for (size_t k = 0; k < t->n_columns; k++)
            found = found || strcmp(t->columns[k].spec->name, s->name) == 0;
        FUZZ_CHECK(found, "no errors, but no %s", s->name);
    }
}

static void check_source(const struct reading_of *f, const struct source *s)
{
    FUZZ_CHECK(s->rows_used + s->rows_left_out == s->rows_read, "%zu + %zu rows of %zu",
               s->rows_used, s->rows_left_out, s->rows_read);
    FUZZ_CHECK(strlen(s->sha256) == 64, "no check sum");
    for (size_t i = 0; i < s->n_preamble; i++)
        FUZZ_CHECK(fuzz_is_harmless(s->preamble[i]), "a line above the header is not safe");
    for (size_t i = 0; i < s->n_records; i++)
        FUZZ_CHECK(s->records[i].line >= 1 && (size_t)s->records[i].line <= f->lines,
                   "a record on line %ld", s->records[i].line);
    for (size_t i = 0; i < s->n_repairs; i++)
        FUZZ_CHECK(s->repairs[i].text != NULL && fuzz_is_harmless(s->repairs[i].text),
                   "%s: an unsafe text", s->repairs[i].code);
}

/* What the file says of its decimal mark, and again with a hint where it says nothing. */
static void read_with_hint(struct reading_of *f, const struct facts *facts)
{
    struct table t;
    struct diag_list diags;
    struct error e = {.code = ERR_NONE};
    enum table_decimal_answer d =
        table_decimal(f->arena, "other.csv", f->bytes, f->n, f->study, facts);
    if (d != TABLE_DECIMAL_EITHER)
        return;
    struct table_hint hint = {MARK_COMMA, "first.csv"};
    diag_init(&diags, f->arena);
    enum errc code =
        table_read(f->arena, "other.csv", f->bytes, f->n, f->study, facts, &hint, &t, &diags, &e);
    FUZZ_CHECK(code == ERR_NONE, "%s", e.message);
    fuzz_check_diags(f->arena, &diags, f->lines);
    if (diags.errors == 0)
        check_rows(f, &t);
}

void fuzz_run_table(const char *bytes, size_t n)
{
    struct arena *a = fuzz_begin();
    struct reading_of f = {.arena = a, .bytes = n > 0 ? bytes + 1 : "", .n = n > 0 ? n - 1 : 0};
    unsigned choice = n > 0 ? (unsigned char)bytes[0] : 'a';
    bool capital = choice >= 'A' && choice <= 'Z';
    const struct read_request *q = fuzz_request();
    f.study = &q->studies[(choice - (capital ? 'A' : 'a')) % q->n_studies];
    if (capital)
        take_facts(&f);
    const struct facts *facts = capital ? &f.facts : NULL;
    f.lines = fuzz_physical_lines(f.bytes, f.n);
    struct table t;
    struct diag_list diags;
    struct error e = {.code = ERR_NONE};
    diag_init(&diags, a);
    enum errc code = table_load_bytes(a, "file.csv", f.bytes, f.n, f.study, facts, &t, &diags, &e);
    FUZZ_CHECK(code == ERR_NONE, "%s", e.message);
    fuzz_check_diags(a, &diags, f.lines);
    check_source(&f, &t.sources[0]);
    if (diags.errors == 0) {
        check_columns(&f, &t);
        check_rows(&f, &t);
        read_with_hint(&f, facts);
    }
    fuzz_end(a);
}
