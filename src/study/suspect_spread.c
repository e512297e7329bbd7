/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One condition in which the shots scatter far more than in the others. */
#include <math.h>
#include <string.h>

#include "study_internal.h"

#define LEVEL 0.005
#define FAR_MORE 3.0 /* times the others' sd; our convention */

/* What the condition's mean is made of in a row: the column, or the mean over the cavities. */
static double reading(const struct suspect *s, const struct suspect_conditions *k,
                      const struct condition *c, size_t row)
{
    const struct table *t = s->table;
    double sum = 0.0, n = 0.0;
    for (size_t i = 0; i < t->n_columns; i++) {
        const struct cell *cell = &t->rows[row].cells[i];
        bool counts = strcmp(t->columns[i].spec->name, s->measured) == 0 &&
                      (k->in_time || (double)t->columns[i].cavity == c->setting);
        if (!counts || cell->kind != CELL_VALUE)
            continue;
        if (k->in_time && t->columns[i].cavity == 0)
            return cell->value;
        sum += cell->value;
        n += 1.0;
    }
    return n > 0.0 ? sum / n : PL_NAN;
}

static bool is_odd(const struct suspect *s, size_t row)
{
    const struct table *t = s->table;
    for (size_t i = 0; i < s->f->n_flags; i++) {
        const struct flag *g = &s->f->flags[i];
        bool odd = strcmp(g->code, "outlier") == 0 || strcmp(g->code, "stray-shot") == 0;
        if (odd && g->line == t->rows[row].line && g->file != NULL &&
            strcmp(g->file, study_file(t, row)) == 0)
            return true;
    }
    return false;
}

/* The sd without the shot that stands off most of those that were flagged by themselves: one shot
 * makes no condition. */
static double sd_without_odd(const struct suspect *s, const struct suspect_conditions *k,
                             const struct condition *c, size_t *n)
{
    const struct table *t = s->table;
    double most = 0.0, shots = (double)c->n;
    size_t row = 0, seen = 0;
    while (row < t->n_rows && (c->file == NULL || t->rows[row].line != c->first_line ||
                               strcmp(study_file(t, row), c->file) != 0))
        row++;
    for (; row < t->n_rows && seen < c->n; row++) {
        seen += !t->rows[row].excluded;
        double off = reading(s, k, c, row) - c->mean;
        if (is_odd(s, row) && fabs(off) > most)
            most = fabs(off);
    }
    if (!(most > 0.0))
        return c->sd;
    *n = c->n - 1;
    double ss = c->sd * c->sd * (shots - 1.0) - most * most * shots / (shots - 1.0);
    return c->n > 2 ? sqrt(fmax(0.0, ss) / (shots - 2.0)) : 0.0;
}

static bool far_more(const struct math_spread *m)
{
    return m->p <= LEVEL && m->own >= FAR_MORE * m->others;
}

void suspect_spread(struct suspect *s, const struct suspect_conditions *k)
{
    double *sd = ARENA_ARRAY(s->a, double, k->n), *share = ARENA_ARRAY(s->a, double, k->n);
    size_t *n = ARENA_ARRAY(s->a, size_t, k->n);
    double largest = 0.0;
    for (size_t i = 0; i < k->n; i++) {
        const struct condition *c = k->c[i];
        bool known = isfinite(c->sd) && c->n > 1 && c->mean > 0.0;
        n[i] = known ? c->n : 1;
        sd[i] = known ? sd_without_odd(s, k, c, &n[i]) : 0.0;
        share[i] = known ? sd[i] / c->mean : 0.0;
        largest = fmax(largest, c->mean);
    }
    struct math_spread alike, relative;
    double least = k->step / sqrt(12.0);
    if (!(largest > 0.0) || !math_spread(sd, n, k->n, least, &alike) || !far_more(&alike) ||
        !math_spread(share, n, k->n, least / largest, &relative) || !far_more(&relative) ||
        alike.at != relative.at)
        return;
    const struct condition *c = k->c[alike.at];
    const char *without = n[alike.at] < c->n ? ", without the one that stands off" : "";
    SUSPECT_RAISE(s, "spread-differs", c->file, c->first_line,
                  "at %s the %s scatters by %s (sd of %zu shots%s), %s times as much as at the "
                  "others (%s)",
                  suspect_condition_name(s, k, alike.at), suspect_name(s, s->measured),
                  suspect_value(s, k->dimension, alike.own, alike.own / 10.0), n[alike.at], without,
                  number_text(s->a, alike.own / alike.others, 2),
                  suspect_value(s, k->dimension, alike.others, alike.others / 10.0));
}
