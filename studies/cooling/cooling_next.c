/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What to run next, as a cooling time at the press. */
#include <math.h>
#include <string.h>

#include "cooling.h"

#define RECOVERY_ROOM                                                                              \
    0.5 /* s; the screw must have recovered; common practice, no published source */
#define SAME 1e-9

/* The tested setting with this closed time, or NULL. */
static const struct cooling_setting *setting_at(const struct cooling *c, double x)
{
    for (size_t i = 0; i < c->n_settings; i++)
        if (fabs(c->setting[i].x - x) <= SAME * fabs(x))
            return &c->setting[i];
    return NULL;
}

static const struct cooling_setting *shortest(const struct cooling *c)
{
    const struct cooling_setting *s = &c->setting[0];
    for (size_t i = 1; i < c->n_settings; i++)
        if (c->setting[i].x < s->x)
            s = &c->setting[i];
    return s;
}

/* The one at x where there is one. */
static const struct cooling_setting *nearest(const struct cooling *c, double x)
{
    const struct cooling_setting *s = &c->setting[0];
    for (size_t i = 1; i < c->n_settings; i++)
        if (fabs(c->setting[i].x - x) < fabs(s->x - x))
            s = &c->setting[i];
    return s;
}

/* Closed time to the press's cooling timer, hold and fill as run at the nearest setting. */
static double to_cooling(const struct cooling *c, double x)
{
    const struct cooling_setting *at = setting_at(c, x);
    if (at != NULL)
        return at->cooling;
    const struct cooling_setting *s = nearest(c, x);
    return round((x - (s->x - s->cooling)) / c->time_step) * c->time_step;
}

/* The least that makes sense: the screw must be back, and a defect was seen below. */
static bool makes_sense(const struct cooling *c, double cooling, double x)
{
    double recovery = facts_number(&c->trial->facts, "running", "recovery_time", PL_NAN);
    int column = table_find(c->table, "recovery_time", 0);
    for (size_t i = 0; column >= 0 && i < c->n; i++) {
        const struct cell *cell = &cooling_row(c, i)->cells[column];
        if (cell->kind == CELL_VALUE)
            recovery = fmax(recovery, cell->value);
    }
    bool recovered =
        isnan(recovery) || setting_at(c, x) != NULL || cooling >= recovery + RECOVERY_ROOM - SAME;
    return cooling > 0.0 && recovered && !(x <= c->defects.last_bad);
}

/* ---- dimensions --------------------------------------------------------------------------------
 */

static const char *why_text(const struct cooling *c, const struct cooling_measure *m,
                            enum next_kind kind)
{
    switch (kind) {
    case NEXT_EXTEND:
        return arena_printf(c->a, "%s is not shown to have settled in the tested range", m->words);
    case NEXT_SHORTER:
        return arena_printf(
            c->a, "%s has settled at every tested time; a shorter one may save cycle time",
            m->words);
    case NEXT_MIDWAY:
        return "the interval cannot be finer than the spacing of the tested times";
    case NEXT_OPTIMAL:
        return arena_printf(c->a, "here a shot narrows most from when on %s is settled", m->words);
    case NEXT_AROUND:
        return "these two times enclose the safe end of the interval";
    case NEXT_REPEAT:
        return arena_printf(c->a, "to show that %s stays within %s", m->words,
                            cooling_amount(c, m, m->r.tolerance, PL_NAN));
    case NEXT_NONE:
        break;
    }
    return "";
}

static const char *promise_text(const struct cooling *c, const struct plateau_next *n)
{
    double now = n->half_width_now, then = n->half_width_then;
    if (isnan(then))
        return n->kind == NEXT_REPEAT ? "probably decides it, if the scatter stays the same" : NULL;
    return arena_printf(c->a, "+-%s becomes about +-%s",
                        isfinite(now) ? cooling_time(c, now, then) : "an open interval",
                        cooling_time(c, then, then));
}

static void ask_for(struct cooling *c, double x, int shots, const char *why, const char *promise,
                    double now, double then)
{
    double cooling = to_cooling(c, x);
    if (!makes_sense(c, cooling, x))
        return;
    for (size_t i = 0; i < c->f->n_next_shots; i++)
        if (fabs(c->f->next_shots[i].at - cooling) < 0.5 * c->time_step)
            return;
    struct next_shot *s = finding_next_shot(c->f);
    s->setting = "cooling_time";
    s->dimension = DIM_TIME;
    s->at = cooling;
    s->shots = shots;
    if (c->hold_from != NULL)
        s->series =
            arena_printf(c->a, "at hold time %s", cooling_time(c, nearest(c, x)->hold, PL_NAN));
    s->why = why;
    s->promise = promise;
    s->half_width_now = now;
    s->half_width_then = then;
}

/* Half the shortest cooling time, not half the closed time: hold is what it is. */
static double shorter(const struct cooling *c)
{
    const struct cooling_setting *s = shortest(c);
    double half = round(s->cooling / 2.0 / c->time_step) * c->time_step;
    return s->x - s->cooling + half;
}

static void for_dimension(struct cooling *c, const struct cooling_measure *m)
{
    struct plateau_next next[2];
    if (m->r.shot_sd > m->r.tolerance)
        return; /* the scatter comes first: more cooling times would show nothing */
    size_t n =
        plateau_next_shots(&m->blocks, &m->options, &m->r, c->time_step, COOLING_SHOTS, next);
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < next[i].n; j++) {
            double x = next[i].kind == NEXT_SHORTER ? shorter(c) : next[i].at[j];
            ask_for(c, x, next[i].shots, why_text(c, m, next[i].kind), promise_text(c, &next[i]),
                    next[i].half_width_now, next[i].half_width_then);
        }
}

/* ---- part temperature, defects, shares ---------------------------------------------------------
 */

/* Tested closed times on both sides of x; false where there is none below. */
static bool neighbours(const struct cooling *c, double x, double *below, double *above)
{
    *below = -PL_INF;
    *above = PL_INF;
    for (size_t i = 0; i < c->n_settings; i++) {
        double at = c->setting[i].x;
        if (at < x * (1.0 - SAME))
            *below = fmax(*below, at);
        else
            *above = fmin(*above, at);
    }
    return isfinite(*below) && isfinite(*above);
}

static void longer(struct cooling *c, const char *why)
{
    double last = -PL_INF, before = -PL_INF;
    for (size_t i = 0; i < c->n_settings; i++)
        last = fmax(last, c->setting[i].x);
    for (size_t i = 0; i < c->n_settings; i++)
        if (c->setting[i].x < last * (1.0 - SAME))
            before = fmax(before, c->setting[i].x);
    double gap = isfinite(before) ? fmax(last - before, c->time_step) : 10.0 * c->time_step;
    for (int i = 1; i <= 2; i++)
        ask_for(c, last + gap * i, COOLING_SHOTS, why, NULL, PL_NAN, PL_NAN);
}

/* A defect is seen in the middle or it is not: either way the gap is halved. Of a temperature the
 * fitted curve tells; of a share nothing does, since a new scatter can move the bound elsewhere. */
static double half_width_then(const struct cooling *c, const struct cooling_limit *l, double at,
                              double now)
{
    if (l->m == NULL)
        return now / 2.0;
    if (!l->m->temperature)
        return PL_NAN;
    return decay_forecast(&l->m->blocks, &l->m->decay, l->m->step, c->confidence, at,
                          COOLING_SHOTS);
}

static void midway(struct cooling *c, const struct cooling_limit *l, const char *why)
{
    double below, above;
    if (!neighbours(c, l->high, &below, &above) || above - below < 2.0 * c->time_step)
        return;
    double at = below + (above - below) / 2.0, now = (l->high - l->low) / 2.0;
    double then = half_width_then(c, l, at, now);
    const char *promise = NULL;
    if (then <= MATH_NARROWS * now)
        promise = arena_printf(c->a, "+-%s becomes about +-%s", cooling_time(c, now, then),
                               cooling_time(c, then, then));
    else
        now = then = PL_NAN;
    ask_for(c, at, COOLING_SHOTS, why, promise, now, then);
}

static void for_limit(struct cooling *c, const struct cooling_limit *l)
{
    const struct cooling_measure *m = l->m;
    if (strcmp(l->criterion, "cooling_tolerance") == 0) {
        for_dimension(c, m);
    } else if (strcmp(l->criterion, "ejection_temperature") == 0) {
        if (!l->bounded)
            longer(c, "the part is not shown to be cold enough in the tested range");
        else if (isfinite(l->low) && l->high - l->low > 2.0 * c->time_step)
            midway(c, l, "near the time at which the part passes the ejection temperature");
    } else if (strcmp(l->criterion, "ejection_defects") == 0) {
        if (!l->bounded)
            longer(c, "the defect is seen at the longest tested time");
        else
            midway(c, l, "between the last time with a defect and the first without");
    } else if (l->bounded && isfinite(l->low)) {
        midway(c, l,
               "between the last time that is not shown to be inside the limits and "
               "the first that is");
    }
}

/* A run of good shots at the bound, where a defect was seen next to it. */
static void for_defects(struct cooling *c)
{
    const struct cooling_limit *l = cooling_limit_of(c, NULL, "ejection_defects");
    if (l == NULL || !l->bounded || l->verdict != VERDICT_NOT_SHOWN || c->hold_from == NULL)
        return;
    size_t need = study_success_run(c->defects.share, c->confidence);
    if (need <= c->defects.at_bound)
        return;
    ask_for(c, c->defects.from, (int)fmin((double)(need - c->defects.at_bound), 1e6),
            "a defect was seen next to this time; only a run of good parts shows that it is gone",
            arena_printf(c->a, "if all are good, at least %s are shown to be",
                         cooling_share_text(c, c->defects.share)),
            PL_NAN, PL_NAN);
}

void cooling_next_shots(struct cooling *c)
{
    if (c->n == 0)
        return;
    for (size_t i = 0; i < c->n_limits; i++)
        if (c->limit[i].withdraws)
            for_limit(c, &c->limit[i]);
    if (c->decides != NULL)
        for_limit(c, c->decides);
    for_defects(c);
}
