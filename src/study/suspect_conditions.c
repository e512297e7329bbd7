/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The conditions a study found, with what the table says of them. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study_internal.h"

#define SAME_SETTING 0.03 /* settings that were measured, as a fill time is */

const char *suspect_name(const struct suspect *s, const char *column)
{
    char *name = arena_copy(s->a, column);
    for (char *c = name; *c != '\0'; c++)
        if (*c == '_')
            *c = ' ';
    return name;
}

const char *suspect_value(const struct suspect *s, enum dimension d, double v, double half_width)
{
    return value_text(s->a, s->trial->display, d, v, half_width);
}

/* ---- which column holds what ---------------------------------------------------------------- */

static const struct table_column *setting_column(const struct suspect *s)
{
    int c = table_find(s->table, s->study->setting, 0);
    return c < 0 ? NULL : &s->table->columns[c];
}

/* The column that groups rows by words, or -1. */
static int label_column(const struct suspect *s)
{
    for (size_t i = 0; i < s->table->n_columns; i++)
        if (s->table->columns[i].spec->flags & COLUMN_CONSTANT_LABEL)
            return (int)i;
    return -1;
}

/* The instrument's step; the coarsest where there is one for each cavity. */
static double measured_step(const struct suspect *s, enum dimension *d)
{
    const struct table *t = s->table;
    double *v = ARENA_ARRAY(s->a, double, t->n_rows), step = 0.0;
    for (size_t i = 0; i < t->n_columns; i++) {
        if (strcmp(t->columns[i].spec->name, s->measured) != 0)
            continue;
        size_t n = 0;
        for (size_t j = 0; j < t->n_rows; j++)
            if (!t->rows[j].excluded && t->rows[j].cells[i].kind == CELL_VALUE)
                v[n++] = t->rows[j].cells[i].value;
        *d = t->columns[i].spec->dimension;
        step = fmax(step, n > 0 ? math_reading_step(v, n, t->columns[i].step) : 0.0);
    }
    return step;
}

/* ---- which conditions are of one setting ---------------------------------------------------- */

static const char *label_of(const struct suspect *s, const struct condition *c, int column)
{
    for (size_t i = 0; i < s->table->n_rows; i++)
        if (s->table->rows[i].line == c->first_line && c->file != NULL &&
            strcmp(study_file(s->table, i), c->file) == 0)
            return s->table->rows[i].cells[column].text;
    return "";
}

static bool same_number(double a, double b)
{
    return fabs(a - b) <= 1e-9 * (fabs(a) + fabs(b));
}

static void group(const struct suspect *s, struct suspect_conditions *k)
{
    const struct table_column *setting = setting_column(s);
    bool quantity = setting != NULL && setting->spec->dimension != DIM_TEXT;
    bool number = quantity || k->c[0]->setting_dimension == DIM_COUNT;
    int label = number ? -1 : label_column(s);
    const char **text = ARENA_ARRAY(s->a, const char *, k->n);
    for (size_t i = 0; label >= 0 && i < k->n; i++)
        text[i] = label_of(s, k->c[i], label);
    k->group = ARENA_ARRAY(s->a, size_t, k->n);
    for (size_t i = 0; i < k->n; i++) {
        size_t j = 0;
        double x = k->c[i]->setting;
        for (; j < i; j++) {
            double other = k->c[j]->setting;
            bool same = number       ? same_number(x, other)
                        : label >= 0 ? strcmp(text[i], text[j]) == 0
                                     : fabs(x - other) <= SAME_SETTING * fabs(other);
            if (same)
                break;
        }
        k->group[i] = j < i ? k->group[j] : k->n_groups++;
    }
    k->numbered = setting == NULL || quantity;
    k->setting_dimension = k->c[0]->setting_dimension;
    if (k->setting_dimension == DIM_TEXT && quantity)
        k->setting_dimension = setting->spec->dimension;
    k->numbered = k->numbered && k->setting_dimension != DIM_COUNT;
}

static int by_block(const void *a, const void *b)
{
    const struct condition *const *x = a, *const *y = b;
    return ((*x)->block > (*y)->block) - ((*x)->block < (*y)->block);
}

/* A study may note other quantities beside the measured one, a series each ("transfer pressure",
 * "fill time"); then the series of that name counts, or the first. Series that name the setting
 * (stages) or a level (cavities at a fill) all count. NULL: all. */
static const char *series_that_counts(const struct suspect *s)
{
    const struct finding *f = s->f;
    const char *measured = suspect_name(s, s->measured);
    for (size_t i = 0; i < f->n_conditions; i++)
        if (f->conditions[i].series != NULL && strcmp(f->conditions[i].series, measured) == 0)
            return measured;
    const struct condition *first = &f->conditions[0];
    bool quantity = first->setting_dimension != DIM_TEXT && first->setting_dimension != DIM_COUNT;
    return quantity ? first->series : NULL;
}

bool suspect_conditions(const struct suspect *s, struct suspect_conditions *out)
{
    const struct finding *f = s->f;
    *out = (struct suspect_conditions){
        .c = ARENA_ARRAY(s->a, const struct condition *, f->n_conditions), .in_time = true};
    if (s->measured == NULL || f->n_conditions == 0)
        return false;
    const char *series = series_that_counts(s);
    for (size_t i = 0; i < f->n_conditions; i++) {
        const struct condition *c = &f->conditions[i];
        bool counts = series == NULL || (c->series != NULL && strcmp(c->series, series) == 0);
        if (counts && c->left_out == NULL && isfinite(c->mean) && isfinite(c->setting))
            out->c[out->n++] = c;
    }
    if (out->n < 2 || out->n > SUSPECT_CONDITIONS_MOST)
        return false;
    qsort(out->c, out->n, sizeof *out->c, by_block);
    for (size_t i = 1; i < out->n; i++)
        out->in_time = out->in_time && out->c[i]->block != out->c[i - 1]->block;
    out->step = measured_step(s, &out->dimension);
    group(s, out);
    return true;
}

const char *suspect_condition_name(const struct suspect *s, const struct suspect_conditions *k,
                                   size_t i)
{
    const struct condition *c = k->c[i];
    if (!k->in_time) /* a condition for each cavity of a shot */
        return arena_printf(s->a, "cavity %.0f (%s)", c->setting, c->series);
    if (k->setting_dimension == DIM_COUNT)
        return arena_printf(s->a, "%s %s", suspect_name(s, s->study->setting), c->series);
    return suspect_value(s, k->setting_dimension, c->setting, PL_NAN);
}
