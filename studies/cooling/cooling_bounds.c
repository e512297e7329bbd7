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

static size_t shots_at(const struct cooling *c, double x)
{
    size_t n = 0;
    for (size_t i = 0; i < c->n; i++)
        n += x_of(c, i) <= x && x_of(c, i) >= x;
    return n;
}

/* The first tested time beyond the last defect with at least so many shots; infinite: there is
 * none.
 */
static double first_good(const struct cooling *c, size_t shots)
{
    double from = PL_INF;
    for (size_t i = 0; i < c->n; i++) {
        double x = x_of(c, i);
        if (x > c->defects.last_bad && x < from && shots_at(c, x) >= shots)
            from = x;
    }
    return from;
}

void cooling_find_defects(struct cooling *c)
{
    struct cooling_defects *d = &c->defects;
    *d = (struct cooling_defects){.share = d->share, .last_bad = -PL_INF, .from = PL_INF};
    for (size_t i = 0; i < c->n; i++) {
        if (cooling_row(c, i)->defect[0] == '\0')
            continue;
        if (d->n++ == 0 || x_of(c, i) > d->last_bad)
            d->last = i;
        d->last_bad = fmax(d->last_bad, x_of(c, i));
    }
    if (d->n == 0)
        return;
    size_t need = study_success_run(d->share, c->confidence);
    d->from = first_good(c, need);
    if (!isfinite(d->from)) /* the first good time, and nothing shows it yet */
        d->from = first_good(c, 1);
    for (size_t i = 0; i < c->n; i++)
        d->good += x_of(c, i) >= d->from;
    d->at_bound = shots_at(c, d->from);
    struct cooling_limit *l = cooling_add_limit(c, NULL, "ejection_defects");
    l->bounded = isfinite(d->from);
    l->withdraws = !l->bounded;
    /* a few good shots do not show that a defect is gone; at longer times they tell nothing of this
     * one */
    bool shown = d->at_bound >= need;
    l->verdict = cooling_cap(c, NULL,
                             !l->bounded ? VERDICT_NOT_MET
                             : shown     ? VERDICT_MET
                                         : VERDICT_NOT_SHOWN);
    l->low = d->last_bad;
    l->high = l->bounded ? d->from : PL_NAN;
    l->model = "tested closed times";
    l->rows = c->n;
}

/* Tested closed times, the same ones once, in (low, high]. */
static size_t times_between(const struct cooling *c, double low, double high)
{
    size_t n = 0;
    for (size_t i = 0; i < c->n_settings; i++) {
        double x = c->setting[i].x;
        bool again = false;
        for (size_t k = 0; k < i; k++)
            again = again || c->setting[k].x == x;
        n += !again && x > low && x <= high;
    }
    return n;
}

void cooling_clear_defects(struct cooling *c)
{
    struct cooling_defects *d = &c->defects;
    for (size_t i = 0; i < c->n_limits; i++) {
        struct cooling_limit *l = &c->limit[i];
        if (l->m != NULL || !l->bounded || c->decides == NULL || c->decides == l)
            continue;
        d->between = times_between(c, d->last_bad, c->decides->high);
        if (d->between >= COOLING_CLEAR_TIMES && l->verdict == VERDICT_NOT_SHOWN)
            l->verdict = cooling_cap(c, NULL, VERDICT_MET);
    }
}

/* Good shots still missing at the bound, and what a row of the table needs for them. */
static const char *run_text(const struct cooling *c, size_t need)
{
    const struct cooling_defects *d = &c->defects;
    return arena_printf(
        c->a,
        "run %zu more shots there%s; one row each: the times, and ok under defect where the parts "
        "are good, with the other cells left empty; then at least %s of them are shown to be good",
        need - d->at_bound, c->hold_from != NULL ? ", at the same hold time" : "",
        cooling_share_text(c, d->share));
}

static const char *edge_sentence(const struct cooling *c, const struct cooling_limit *l)
{
    const struct cooling_defects *d = &c->defects;
    size_t need = study_success_run(d->share, c->confidence);
    const char *seen = cooling_time(c, d->last_bad, PL_NAN);
    const char *from = cooling_time(c, d->from, PL_NAN);
    const char *defect = cooling_row(c, d->last)->defect;
    if (c->decides != NULL && c->decides != l && d->between >= COOLING_CLEAR_TIMES)
        return arena_printf(c->a,
                            "the last defect (\"%s\") was seen at %s, far below the bound: all %zu "
                            "shots from %s on were good, at %zu tested times up to the bound",
                            defect, seen, d->good, from, d->between);
    const char *shown =
        arena_printf(c->a,
                     "the last defect (\"%s\") was seen at %s, and all %zu shots at %s were good: "
                     "at %s confidence that shows only that at least %s are good",
                     defect, seen, d->at_bound, from, cooling_confidence(c),
                     cooling_share_text(c, study_share_shown(d->at_bound, c->confidence)));
    if (d->at_bound >= need)
        return arena_printf(c->a,
                            "the last defect (\"%s\") was seen at %s, and all %zu shots at %s were "
                            "good: at %s confidence at least %s are",
                            defect, seen, d->at_bound, from, cooling_confidence(c),
                            cooling_share_text(c, study_share_shown(d->at_bound, c->confidence)));
    return arena_printf(c->a, "%s; %s", shown, run_text(c, need));
}

void cooling_note_defects(struct cooling *c)
{
    const struct cooling_defects *d = &c->defects;
    const struct cooling_limit *l = cooling_limit_of(c, NULL, "ejection_defects");
    if (l == NULL)
        return;
    const struct fact *fact = facts_find(&c->trial->facts, "criteria", "defect_free_share");
    struct criterion *k = finding_criterion(c->f, "ejection_defects");
    k->title = "no defect from ejecting too early";
    k->dimension = DIM_RATIO;
    k->limit_wording =
        arena_printf(c->a, "%s of the shots shown to be good", cooling_share_text(c, d->share));
    k->limit = d->share;
    k->value = l->bounded ? 1.0 : PL_NAN;
    k->low = l->bounded ? study_share_shown(d->at_bound, c->confidence) : PL_NAN;
    k->high = l->bounded ? PL_INF : PL_NAN;
    k->level = c->confidence;
    k->sides = 1;
    k->origin = fact != NULL && fact->given ? 'G' : 'C';
    k->verdict = l->verdict;
    k->because =
        l->bounded
            ? edge_sentence(c, l)
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
