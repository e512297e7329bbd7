/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What gives reason to doubt the result. */
#include <math.h>

#include "cooling.h"

#define MISFIT_LEVEL 0.01
#define MISFIT_SIZE 0.5 /* tolerances */

static const char *fine(const struct cooling *c, const struct cooling_measure *m, double v)
{
    return cooling_amount(c, m, v, fabs(v) / 10.0);
}

static double last_x(const struct cooling_measure *m)
{
    return m->blocks.group_x[m->blocks.n_groups - 1];
}

/* ---- the trial as a whole ----------------------------------------------------------------------
 */

static void check_times(struct cooling *c)
{
    if (c->hold_from == NULL)
        COOLING_RAISE(c, "hold-not-given", NULL, 0,
                      "neither the file nor [running] gives the hold time: the bound is on the "
                      "cooling time as run");
    else if (c->fill_from == NULL)
        COOLING_RAISE(c, "fill-not-given", NULL, 0,
                      "neither the file nor [running] gives the fill time: the closed time counts "
                      "from the end of filling");
    double low = PL_INF, high = -PL_INF;
    for (size_t i = 0; i < c->n_settings; i++) {
        low = fmin(low, c->setting[i].hold);
        high = fmax(high, c->setting[i].hold);
    }
    if (high > low + c->time_step * (1.0 + 1e-9))
        COOLING_RAISE(c, "hold-not-constant", NULL, 0, "the hold time ran from %s to %s",
                      cooling_time(c, low, PL_NAN), cooling_time(c, high, PL_NAN));
}

static void check_age(struct cooling *c)
{
    if (c->age == COOLING_AGE_NOT_GIVEN)
        COOLING_RAISE(c, "age-not-given", NULL, 0,
                      "the age of the parts is not given for %zu of %zu shots", c->age_missing,
                      c->n);
    if (c->age == COOLING_AGE_TOO_YOUNG)
        COOLING_RAISE(c, "parts-too-young", NULL, 0,
                      "the parts were measured before they were %s old",
                      value_text(c->a, c->trial->display, DIM_AGE, c->conditioning, PL_NAN));
}

static void check_amount(struct cooling *c)
{
    bool single = false;
    size_t times = 0;
    for (size_t i = 0; i < c->n_settings; i++)
        times += c->setting[i].x > c->setting[0].x || c->setting[i].x < c->setting[0].x;
    for (size_t i = 0; i < c->n_measures; i++)
        single = single || !(c->measure[i].r.shot_dof > 0.0);
    if (c->n == 0)
        COOLING_RAISE(c, "too-little-data", NULL, 0, "%s", study_no_rows(c->f, COOLING_NOTHING));
    else if (c->n_measures == 0 && c->defects.n == 0)
        COOLING_RAISE(c, "too-little-data", NULL, 0,
                      "no column holds a dimension of [dimensions], warp or a part temperature");
    else if (times == 0)
        COOLING_RAISE(c, "too-little-data", NULL, 0, "there is only one %s", cooling_axis(c));
    else if (single)
        COOLING_RAISE(c, "no-repeats", NULL, 0, "there is one shot per cooling time");
}

static void check_defects(struct cooling *c)
{
    const struct cooling_defects *d = &c->defects;
    if (d->n == 0)
        return;
    COOLING_RAISE(c, "ejection-defects", cooling_file(c, d->last), cooling_line(c, d->last),
                  "%zu shot%s with a defect, up to %s (\"%s\")", d->n, d->n == 1 ? "" : "s",
                  cooling_time(c, d->last_bad, PL_NAN), cooling_row(c, d->last)->defect);
}

/* ---- one measure -------------------------------------------------------------------------------
 */

static void check_state(struct cooling *c, const struct cooling_measure *m)
{
    const struct plateau_answer *r = &m->r;
    const char *delta = cooling_amount(c, m, r->tolerance, PL_NAN);
    if (m->blocks.n_groups < 2)
        return;
    switch (r->state) {
    case PLATEAU_FOUND:
        break;
    case PLATEAU_BRACKET_ONLY:
        COOLING_RAISE(c, "bracket-only", NULL, 0, "%s: %zu cooling times are too few for a curve",
                      m->words, m->blocks.n_groups);
        break;
    case PLATEAU_BEFORE_FIRST:
        COOLING_RAISE(c, "settled-before-first", NULL, 0,
                      "%s is the same within %s at all tested times, from %s on", m->words, delta,
                      cooling_time(c, m->blocks.group_x[0], PL_NAN));
        break;
    case PLATEAU_OPEN:
        COOLING_RAISE(c, "range-too-short", NULL, 0,
                      "%s: fewer than two of the tested times, up to %s, lie beyond the interval's "
                      "end",
                      m->words, cooling_time(c, last_x(m), PL_NAN));
        break;
    case PLATEAU_UNDECIDED:
        COOLING_RAISE(c, "settling-not-told", NULL, 0,
                      "a straight line describes %s as well as a curve that levels off does",
                      m->words);
        break;
    case PLATEAU_NOT_REACHED:
        COOLING_RAISE(c, "still-moving", NULL, 0,
                      "%s changes by %s between %s and %s, the longest tested, more than the %s "
                      "allowed",
                      m->words, cooling_amount(c, m, fabs(r->rise), r->tolerance / 10.0),
                      cooling_time(c, m->blocks.group_x[r->rise_from], PL_NAN),
                      cooling_time(c, last_x(m), PL_NAN), delta);
        break;
    }
}

static void check_movement(struct cooling *c, const struct cooling_measure *m)
{
    const struct plateau_answer *r = &m->r;
    check_state(c, m);
    if (r->tolerance_raised)
        COOLING_RAISE(c, "coarse-reading", NULL, 0,
                      "readings of %s step by %s, more than the tolerance asked for; the tolerance "
                      "was raised to that step",
                      m->words, cooling_amount(c, m, m->options.step, PL_NAN));
    if (r->shot_sd > r->tolerance)
        COOLING_RAISE(c, "scatter-large", NULL, 0,
                      "%s scatters by %s (sd) at one cooling time, more than the tolerance of %s",
                      m->words, fine(c, m, r->shot_sd), cooling_amount(c, m, r->tolerance, PL_NAN));
    const struct family_fit *best = r->best >= 0 ? &r->family[r->best] : NULL;
    if (best != NULL && r->state == PLATEAU_FOUND && best->misfit_p < MISFIT_LEVEL &&
        best->misfit > MISFIT_SIZE)
        COOLING_RAISE(c, "misfit", NULL, 0,
                      "%s: a condition lies %s tolerances from the %s curve, more than the shots' "
                      "scatter explains",
                      m->words, number_text(c->a, best->misfit, 2), best->name);
}

static void check_yield(struct cooling *c, const struct cooling_measure *m)
{
    const struct cooling_yield *y = &m->yield;
    if (!y->known || c->age == COOLING_AGE_TOO_YOUNG)
        return;
    const struct cooling_share *s = &y->at[y->reference];
    if (y->too_narrow) {
        const char *needed =
            y->shots_needed > 0
                ? arena_printf(c->a, "%d shots at each cooling time would do", y->shots_needed)
                : "no number of shots will do with this scatter";
        COOLING_RAISE(c, "band-too-narrow", NULL, 0,
                      "the limits of %s are %s apart, and 2 x %s sd of its scatter are %s: %s",
                      m->words, fine(c, m, m->high - m->low), number_text(c->a, s->k, 3),
                      fine(c, m, 2.0 * s->k * s->sd), needed);
    }
    if (s->verdict == VERDICT_NOT_MET)
        COOLING_RAISE(c, "outside-limits", NULL, 0, "at %s %s is %s on average, with limits of %s",
                      cooling_time(c, s->x, PL_NAN), m->words, cooling_amount(c, m, s->mean, s->sd),
                      cooling_limits(c, m));
}

static void check_temperature(struct cooling *c, const struct cooling_measure *m)
{
    const struct decay_answer *r = &m->decay;
    const char *limit = cooling_limit_text(c, m, m->high);
    if (r->state == DECAY_NOT_REACHED || r->state == DECAY_OPEN)
        COOLING_RAISE(c, "not-cold-enough", NULL, 0,
                      "at %s, the longest tested, the part is at %s; the limit is %s",
                      cooling_time(c, last_x(m), PL_NAN),
                      cooling_amount(c, m, r->at_last, (r->at_last_high - r->at_last_low) / 2.0),
                      limit);
    else if (!r->curve && m->blocks.n_groups > 1)
        COOLING_RAISE(c, "bracket-only", NULL, 0, "%s: %zu cooling times are too few for a curve",
                      m->words, m->blocks.n_groups);
}

static void check_measure(struct cooling *c, const struct cooling_measure *m)
{
    if (!m->limited)
        COOLING_RAISE(c, "no-limit", NULL, 0, "%s is measured, but %s", m->words,
                      m->temperature ? "[material] gives no ejection_temperature"
                                     : "[dimensions] gives it no limits");
    if (m->incomplete > 0)
        COOLING_RAISE(c, "incomplete-shots", NULL, 0, "%zu shot%s %s of a cavity", m->incomplete,
                      m->incomplete == 1 ? " lacks" : "s lack", m->words);
    if (m->settles)
        check_movement(c, m);
    if (m->limited && !m->temperature)
        check_yield(c, m);
    if (m->limited && m->temperature)
        check_temperature(c, m);
}

void cooling_raise_flags(struct cooling *c)
{
    check_amount(c);
    if (c->n == 0)
        return;
    check_times(c);
    check_age(c);
    check_defects(c);
    if (c->lost != NULL)
        COOLING_RAISE(c, "incomplete-shots", NULL, 0, "no shot has %s of all cavities", c->lost);
    for (size_t i = 0; i < c->n_measures; i++)
        check_measure(c, &c->measure[i]);
    for (size_t i = 0; i < c->n_measures; i++)
        cooling_check_shots(c, &c->measure[i]);
}
