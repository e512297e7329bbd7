/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The latest of what was found decides how long the mold stays closed. */
#include <math.h>
#include <string.h>

#include "cooling.h"

struct cooling_limit *cooling_add_limit(struct cooling *c, struct cooling_measure *m,
                                        const char *criterion)
{
    struct cooling_limit *l = &c->limit[c->n_limits++];
    *l = (struct cooling_limit){
        .m = m, .criterion = criterion, .value = PL_NAN, .low = -PL_INF, .high = PL_NAN};
    return l;
}

const struct cooling_limit *cooling_limit_of(const struct cooling *c,
                                             const struct cooling_measure *m, const char *criterion)
{
    for (size_t i = 0; i < c->n_limits; i++)
        if (c->limit[i].m == m && strcmp(c->limit[i].criterion, criterion) == 0)
            return &c->limit[i];
    return NULL;
}

/* ---- ejection defects --------------------------------------------------------------------------
 */

static double x_of(const struct cooling *c, size_t shot)
{
    return c->setting[c->shot[shot].setting].x;
}

void cooling_find_defects(struct cooling *c)
{
    struct cooling_defects *d = &c->defects;
    *d = (struct cooling_defects){.last_bad = -PL_INF, .from = PL_INF};
    for (size_t i = 0; i < c->n; i++) {
        if (cooling_row(c, i)->defect[0] == '\0')
            continue;
        if (d->n++ == 0 || x_of(c, i) > d->last_bad)
            d->last = i;
        d->last_bad = fmax(d->last_bad, x_of(c, i));
    }
    if (d->n == 0)
        return;
    for (size_t i = 0; i < c->n; i++)
        if (x_of(c, i) > d->last_bad)
            d->from = fmin(d->from, x_of(c, i));
    for (size_t i = 0; i < c->n; i++)
        d->good += x_of(c, i) >= d->from;
    struct cooling_limit *l = cooling_add_limit(c, NULL, "ejection_defects");
    l->bounded = isfinite(d->from);
    l->withdraws = !l->bounded;
    /* a few good shots do not show that a defect is gone */
    l->verdict = l->bounded ? VERDICT_NOT_SHOWN : cooling_cap(c, NULL, VERDICT_NOT_MET);
    l->low = d->last_bad;
    l->high = l->bounded ? d->from : PL_NAN;
    l->model = "tested closed times";
    l->rows = c->n;
}

/* Exact lower bound of the share of good shots when all of n are good. */
static double good_share(const struct cooling *c, size_t n)
{
    return pow(1.0 - c->confidence, 1.0 / (double)n);
}

void cooling_note_defects(struct cooling *c)
{
    const struct cooling_defects *d = &c->defects;
    const struct cooling_limit *l = cooling_limit_of(c, NULL, "ejection_defects");
    if (l == NULL)
        return;
    struct criterion *k = finding_criterion(c->f, "ejection_defects");
    k->title = "no defect from ejecting too early";
    k->dimension = DIM_COUNT;
    k->limit_wording = "no defect from the bound on";
    k->limit = 0.0;
    k->value = l->bounded ? 0.0 : (double)d->n;
    k->sides = 1;
    k->origin = 'C';
    k->verdict = l->verdict;
    k->shots_to_decide = l->verdict == VERDICT_NOT_SHOWN ? -1 : 0;
    k->because =
        l->bounded
            ? arena_printf(c->a,
                           "the last defect (\"%s\") was seen at %s, and %zu shots from %s on were "
                           "good: at %s confidence that shows only that at least %s are good",
                           cooling_row(c, d->last)->defect, cooling_time(c, d->last_bad, PL_NAN),
                           d->good, cooling_time(c, d->from, PL_NAN), cooling_confidence(c),
                           cooling_share_text(c, good_share(c, d->good)))
            : arena_printf(c->a, "a defect (\"%s\") was seen at %s, the longest tested",
                           cooling_row(c, d->last)->defect, cooling_time(c, d->last_bad, PL_NAN));
}

/* ---- decision ----------------------------------------------------------------------------------
 */

/* A value is told only where no criterion beside it is known as an interval alone that may be
 * later. */
void cooling_decide(struct cooling *c)
{
    double least = -PL_INF;
    c->value = -PL_INF;
    c->low = c->high = -PL_INF;
    c->decides = NULL;
    c->withdrawn = false;
    for (size_t i = 0; i < c->n_limits; i++) {
        const struct cooling_limit *l = &c->limit[i];
        c->withdrawn = c->withdrawn || l->withdraws;
        if (!l->bounded)
            continue;
        if (c->decides == NULL || l->high > c->decides->high)
            c->decides = l;
        c->low = fmax(c->low, l->low);
        c->high = fmax(c->high, l->high);
        if (isnan(l->value))
            least = fmax(least, l->high);
        else
            c->value = fmax(c->value, l->value);
    }
    if (c->withdrawn)
        c->decides = NULL;
    if (c->decides == NULL || isnan(c->decides->value) || !(c->value >= least))
        c->value = PL_NAN;
}

static const char *no_value_reason(const struct cooling *c)
{
    if (c->withdrawn)
        return "not every criterion is reached in the tested range";
    return c->decides == NULL ? "no criterion could be judged" : "only the interval is known";
}

static void note_least(struct cooling *c)
{
    struct quantity *q =
        finding_quantity(c->f, c->hold_from != NULL ? "closed_time_min" : "cooling_time_min",
                         arena_printf(c->a, "least %s", cooling_axis(c)), DIM_TIME);
    q->value = c->value;
    q->reason = isnan(q->value) ? no_value_reason(c) : NULL;
    q->method = "the latest of what every criterion asks for; interval: the latest of each end";
    if (c->decides == NULL)
        return;
    q->low = c->low;
    q->high = c->high;
    q->level = c->confidence;
    q->sides = 2;
}

static void note_bound(struct cooling *c, const struct cooling_limit *l)
{
    struct bound *b = finding_bound(c->f, cooling_setting_name(c), BOUND_LOWER, DIM_TIME);
    b->value = l->high;
    b->low = l->low;
    b->high = l->high;
    b->grade = BOUND_LIMIT;
    b->model = l->model;
    b->criterion = l->criterion;
    b->verdict = l->verdict;
    b->rows = l->rows;
    b->because = cooling_because(c, l);
}

void cooling_note_bounds(struct cooling *c)
{
    note_least(c);
    if (c->decides == NULL)
        return;
    note_bound(c, c->decides);
    for (size_t i = 0; i < c->n_limits; i++)
        if (c->limit[i].bounded && &c->limit[i] != c->decides)
            note_bound(c, &c->limit[i]);
}
