/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A study's table and its finding, without files. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "coverage.h"

static void stop(const char *what, const char *name)
{
    fprintf(stderr, "coverage: %s: %s\n", what, name);
    abort();
}

void cov_sheet_init(struct cov_sheet *s, struct arena *a, const char *study, size_t columns,
                    size_t rows)
{
    *s = (struct cov_sheet){.a = a, .study = study_find(study)};
    if (s->study == NULL)
        stop("no study", study);
    s->trial = (struct trial){.facts = {.items = s->facts}};
    s->source = (struct source){.name = "simulated.csv"};
    s->table = (struct table){.study = s->study->name,
                              .sources = &s->source,
                              .n_sources = 1,
                              .columns = ARENA_ARRAY(a, struct table_column, columns),
                              .rows = ARENA_ARRAY(a, struct table_row, rows)};
}

void cov_sheet_column(struct cov_sheet *s, const char *name, int cavity, double step)
{
    const struct column_spec *spec = NULL;
    for (size_t i = 0; i < s->study->n_columns; i++)
        if (strcmp(s->study->columns[i].name, name) == 0)
            spec = &s->study->columns[i];
    if (spec == NULL)
        stop("no column", name);
    s->table.columns[s->table.n_columns++] =
        (struct table_column){.spec = spec, .cavity = cavity, .header = name, .step = step};
    if (cavity > s->table.cavities)
        s->table.cavities = cavity;
}

struct cell *cov_sheet_row(struct cov_sheet *s)
{
    struct table_row *row = &s->table.rows[s->table.n_rows++];
    *row = (struct table_row){.line = (long)s->table.n_rows + 1,
                              .order = (double)s->table.n_rows,
                              .shot = "",
                              .excluded_by = "",
                              .note = "",
                              .defect = "",
                              .cells = ARENA_ARRAY(s->a, struct cell, s->table.n_columns)};
    return row->cells;
}

static struct fact *fact_new(struct cov_sheet *s, const char *section, const char *key)
{
    if (s->trial.facts.n == PL_COUNT(s->facts))
        stop("too many facts", key);
    struct fact *f = &s->facts[s->trial.facts.n++];
    *f = (struct fact){.section = section, .key = key, .given = true};
    return f;
}

void cov_sheet_quantity(struct cov_sheet *s, const char *section, const char *key, enum dimension d,
                        double value)
{
    struct fact *f = fact_new(s, section, key);
    f->kind = FACT_QUANTITY;
    f->dimension = d;
    f->low = f->high = value;
}

void cov_sheet_text(struct cov_sheet *s, const char *section, const char *key, const char *text)
{
    struct fact *f = fact_new(s, section, key);
    f->kind = FACT_TEXT;
    f->text = text;
}

struct cell cov_value(double v)
{
    return (struct cell){.kind = CELL_VALUE, .value = v, .text = ""};
}

struct cell cov_text(const char *text)
{
    return (struct cell){.kind = CELL_TEXT, .text = text};
}

void cov_sheet_analyze(struct cov_sheet *s, struct finding *out)
{
    struct error e = {.code = ERR_NONE};
    finding_init(out, s->a, s->study->name, s->study->title);
    if (study_run(s->study, &s->trial, &s->table, out, &e) != ERR_NONE)
        stop("the study failed", s->study->name);
}

void cov_quantity(const struct finding *f, const char *name, double *low, double *high)
{
    const struct quantity *q = finding_get(f, name);
    bool has = q != NULL && q->sides > 0;
    *low = has ? q->low : PL_NAN;
    *high = has ? q->high : PL_NAN;
}
