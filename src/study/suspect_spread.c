/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One condition in which the shots scatter far more than in the others. */
#include <math.h>
#include <string.h>

#include "study_internal.h"

#define LEVEL 0.005
#define FAR_MORE 3.0 /* times the others' sd; our convention */

/* Was one of its shots flagged by itself? That explains the scatter. */
static bool has_odd_shot(const struct suspect *s, const struct condition *c)
{
    const struct table *t = s->table;
    size_t row = 0, seen = 0;
    while (row < t->n_rows && (c->file == NULL || t->rows[row].line != c->first_line ||
                               strcmp(study_file(t, row), c->file) != 0))
        row++;
    for (; row < t->n_rows && seen < c->n; row++) {
        seen += !t->rows[row].excluded;
        for (size_t i = 0; i < s->f->n_flags; i++) {
            const struct flag *g = &s->f->flags[i];
            bool odd = strcmp(g->code, "outlier") == 0 || strcmp(g->code, "stray-shot") == 0;
            if (odd && g->line == t->rows[row].line && g->file != NULL &&
                strcmp(g->file, study_file(t, row)) == 0)
                return true;
        }
    }
    return false;
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
        sd[i] = known ? c->sd : 0.0;
        share[i] = known ? c->sd / c->mean : 0.0;
        largest = fmax(largest, c->mean);
    }
    struct math_spread alike, relative;
    double least = k->step / sqrt(12.0);
    if (!(largest > 0.0) || !math_spread(sd, n, k->n, least, &alike) || !far_more(&alike) ||
        !math_spread(share, n, k->n, least / largest, &relative) || !far_more(&relative) ||
        alike.at != relative.at || has_odd_shot(s, k->c[alike.at]))
        return;
    const struct condition *c = k->c[alike.at];
    SUSPECT_RAISE(
        s, "spread-differs", c->file, c->first_line,
        "at %s the %s scatters by %s (sd of %zu shots), %s times as much as at the others "
        "(%s)",
        suspect_condition_name(s, k, alike.at), suspect_name(s, s->measured),
        suspect_value(s, k->dimension, alike.own, alike.own / 10.0), c->n,
        number_text(s->a, alike.own / alike.others, 2),
        suspect_value(s, k->dimension, alike.others, alike.others / 10.0));
}
