/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The order of the conditions in time: drift, or an order that cannot tell drift. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study_internal.h"

#define LEVEL 0.004       /* two-sided, of each of the two tests of drift */
#define ONE_DIRECTION 0.9 /* rank correlation of setting and time */
#define LEAST_CONDITIONS 3
#define TOLD                                                                                       \
    0.2 /* of time's variance that the setting leaves; less tells the curve's own misfit           \
         */
#define LEAST_DOF 2.0 /* below it a residual variance says nothing of size */

/* ---- one direction -------------------------------------------------------------------------- */

/* Spearman's, the groups' settings against the time of their first visit; settings are distinct. */
static double rank_correlation(const struct suspect_conditions *k)
{
    double sum = 0.0, n = (double)k->n_groups;
    size_t seen = 0;
    for (size_t i = 0; i < k->n; i++) {
        if (k->group[i] < seen) /* groups are numbered by first visit */
            continue;
        double rank = 0.0;
        size_t other_seen = 0;
        for (size_t j = 0; j < k->n; j++) {
            if (k->group[j] < other_seen)
                continue;
            other_seen++;
            rank += k->c[j]->setting < k->c[i]->setting ? 1.0 : 0.0;
        }
        double d = rank - (double)seen++;
        sum += d * d;
    }
    return 1.0 - 6.0 * sum / (n * (n * n - 1.0));
}

static void one_direction(struct suspect *s, const struct suspect_conditions *k, double correlation)
{
    const struct condition *first = k->c[0], *last = k->c[k->n - 1];
    const char *nearly = fabs(correlation) < 1.0 - 1e-9 ? "nearly " : "";
    SUSPECT_RAISE(s, "one-direction", first->file, first->first_line,
                  "the conditions were run in %sthe order of the setting, from %s to %s, and none "
                  "was run again: a drift of the press in that time cannot be told from the effect "
                  "of %s",
                  nearly, suspect_value(s, k->setting_dimension, first->setting, PL_NAN),
                  suspect_value(s, k->setting_dimension, last->setting, PL_NAN),
                  suspect_name(s, s->study->setting));
}

/* ---- drift ---------------------------------------------------------------------------------- */

struct residuals {
    double *y, *scale; /* and what a residual is a share of */
    double shot_sd, shot_share, shot_dof;
};

/* Of the study's curve, where there is one: conditions that were run again need not have come out
 * at the same place (fill times). */
static struct residuals residuals_of(const struct suspect *s, const struct suspect_conditions *k)
{
    struct residuals r = {.y = ARENA_ARRAY(s->a, double, k->n),
                          .scale = ARENA_ARRAY(s->a, double, k->n)};
    double ss = 0.0, share = 0.0;
    bool fitted = true, positive = true;
    for (size_t i = 0; i < k->n; i++) {
        fitted = fitted && isfinite(k->c[i]->fitted);
        positive = positive && k->c[i]->mean > 0.0;
    }
    for (size_t i = 0; i < k->n; i++) {
        const struct condition *c = k->c[i];
        r.scale[i] = positive ? c->mean : 1.0; /* no shares of what may be nothing */
        r.y[i] = fitted ? c->mean - c->fitted : c->mean;
        if (c->n < 2 || !isfinite(c->sd))
            continue;
        double dof = (double)(c->n - 1);
        ss += dof * c->sd * c->sd;
        share += dof * (c->sd / r.scale[i]) * (c->sd / r.scale[i]);
        r.shot_dof += dof;
    }
    double dof = fmax(r.shot_dof, 1.0), least = k->step / sqrt(12.0);
    r.shot_sd = fmax(sqrt(ss / dof), least);
    r.shot_share = fmax(sqrt(share / dof), least / r.scale[0]);
    return r;
}

/* The first and the last visit of the setting that tells most. */
static double revisit(const struct suspect_conditions *k, const struct residuals *r, size_t *from,
                      size_t *to)
{
    double least = PL_INF, tested = 0.0;
    for (size_t i = 0; r->shot_dof > 0.0 && i < k->n; i++) {
        size_t last = i;
        bool first = true;
        for (size_t j = 0; j < k->n; j++) {
            first = first && (j >= i || k->group[j] != k->group[i]);
            last = k->group[j] == k->group[i] ? j : last;
        }
        if (!first || last == i)
            continue;
        double d = r->y[last] - r->y[i], share = d / (0.5 * (r->scale[last] + r->scale[i]));
        size_t a = k->c[i]->n, b = k->c[last]->n;
        double p = fmax(math_revisit_p(d, a, b, r->shot_sd, r->shot_dof),
                        math_revisit_p(share, a, b, r->shot_share, r->shot_dof));
        tested += 1.0;
        if (p < least) {
            least = p;
            *from = i;
            *to = last;
        }
    }
    return least * tested;
}

/* Settings run more than once, all of them together: against how well they repeat. */
static struct math_drift rounds(const struct suspect *s, const struct suspect_conditions *k,
                                const struct residuals *r)
{
    double *time = ARENA_ARRAY(s->a, double, k->n), *w = ARENA_ARRAY(s->a, double, k->n);
    double *share = ARENA_ARRAY(s->a, double, k->n), *sum = ARENA_ARRAY(s->a, double, k->n);
    double *visits = ARENA_ARRAY(s->a, double, k->n);
    double rows = 0.0, m = (double)k->n, scale = 0.0;
    for (size_t i = 0; i < k->n; i++) {
        time[i] = (double)i;
        w[i] = (double)k->c[i]->n;
        rows += w[i];
        scale += r->scale[i] / m;
        sum[k->group[i]] += r->scale[i];
        visits[k->group[i]] += 1.0;
    }
    for (size_t i = 0; i < k->n; i++)
        share[i] = r->y[i] / (sum[k->group[i]] / visits[k->group[i]]);
    /* where shots round alike the mean of many is no better than one */
    double least = k->step * k->step / 12.0 * rows / m;
    struct math_drift d = math_drift_groups(s->a, time, r->y, w, k->group, k->n, least);
    struct math_drift too =
        math_drift_groups(s->a, time, share, w, k->group, k->n, least / (scale * scale));
    d.p = d.dof >= LEAST_DOF ? fmax(d.p, too.p) : PL_NAN;
    return d;
}

static void drift(struct suspect *s, const struct suspect_conditions *k)
{
    struct residuals r = residuals_of(s, k);
    const char *measured = suspect_name(s, s->measured);
    size_t from = 0, to = 0;
    if (revisit(k, &r, &from, &to) < LEVEL) {
        double d = r.y[to] - r.y[from];
        SUSPECT_RAISE(s, "drift", k->c[to]->file, k->c[to]->first_line,
                      "%s was run again; the %s was then %s %s than the first time",
                      suspect_condition_name(s, k, to), measured,
                      suspect_value(s, k->dimension, fabs(d), fabs(d) / 10.0),
                      d > 0.0 ? "higher" : "lower");
        return;
    }
    struct math_drift t = rounds(s, k, &r);
    if (!(t.p < LEVEL) || finding_has_flag(s->f, "drift"))
        return;
    const struct condition *last = k->c[k->n - 1];
    SUSPECT_RAISE(s, "drift", last->file, last->first_line,
                  "the %s %s by %s from the first condition to the last, at equal settings",
                  measured, t.change > 0.0 ? "rises" : "falls",
                  suspect_value(s, k->dimension, fabs(t.change), fabs(t.change) / 10.0));
}

void study_flag_trend(const struct study_curve *c)
{
    struct arena *a = c->finding->arena;
    double *time = ARENA_ARRAY(a, double, c->m), rows = 0.0;
    for (size_t i = 0; i < c->m; i++) {
        time[i] = (double)i;
        rows += c->weight[i];
    }
    if (c->m <= c->p)
        return;
    double least = c->least_variance * rows / (double)c->m; /* as above */
    struct math_drift d =
        math_drift_curve(a, time, c->residual, c->weight, c->tangent, c->p, c->m, least);
    if (!(d.p < LEVEL) || !(d.dof >= LEAST_DOF) || !(d.told >= TOLD))
        return;
    finding_flag(c->finding, "drift", suspect_grade("drift"), c->file, c->line,
                 "the %s %s by %s from the first condition to the last, beside what %s explains",
                 c->measured, d.change > 0.0 ? "rises" : "falls",
                 c->size(c->context, fabs(d.change)), c->setting);
}

void suspect_order(struct suspect *s, const struct suspect_conditions *k)
{
    if (!k->in_time || k->n < LEAST_CONDITIONS)
        return;
    double correlation = k->n_groups >= 2 ? rank_correlation(k) : 0.0;
    if (k->numbered && k->n_groups >= LEAST_CONDITIONS && k->n_groups == k->n &&
        fabs(correlation) >= ONE_DIRECTION)
        one_direction(s, k, correlation);
    else
        drift(s, k);
}
