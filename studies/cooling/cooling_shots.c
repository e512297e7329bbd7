/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shots that stand off, first shots, settings that did not repeat. */
#include <math.h>

#include "cooling.h"

#define ODD 0.01          /* level of odd shots, for the whole study */
#define FALSE_ALARM 0.005 /* two-sided level of the checks below */
#define LEAST_KELVIN 0.5  /* smaller effects on a temperature are not worth a doubt */
#define LEAST_SHARE 0.1   /* of the tolerance, likewise */

static const char *fine(const struct cooling *c, const struct cooling_measure *m, double v)
{
    enum dimension d = m->temperature ? DIM_TEMPERATURE_STEP : m->dimension;
    return value_text(c->a, c->trial->display, d, fabs(v), fabs(v) / 10.0);
}

static void check_odd(struct cooling *c, const struct cooling_measure *m)
{
    struct math_odd_row odd[8];
    size_t n = math_odd_rows(&m->blocks, m->y, ODD / (double)c->n_measures, odd, PL_COUNT(odd));
    for (size_t i = 0; i < n; i++) {
        size_t shot = m->shot[odd[i].row];
        const char *side = odd[i].distance > 0.0 ? "above" : "below";
        const char *at = cooling_time(c, m->x[odd[i].row], PL_NAN);
        if (odd[i].nearer >= 0)
            COOLING_RAISE(c, "stray-shot", cooling_file(c, shot), cooling_line(c, shot),
                          "%s of the shot at %s lies %s %s the others of its condition and fits %s "
                          "better",
                          m->words, at, fine(c, m, odd[i].distance), side,
                          cooling_time(c, m->blocks.group_x[odd[i].nearer], PL_NAN));
        else
            COOLING_RAISE(c, "outlier", cooling_file(c, shot), cooling_line(c, shot),
                          "%s of the shot at %s lies %s %s the others of its condition", m->words,
                          at, fine(c, m, odd[i].distance), side);
    }
}

static double least_effect(const struct cooling_measure *m)
{
    return m->temperature ? LEAST_KELVIN : m->settles ? LEAST_SHARE * m->r.tolerance : 0.0;
}

static void check_first(struct cooling *c, const struct cooling_measure *m)
{
    struct math_first_shots first = math_first_shots(&m->blocks, m->y);
    if (!(first.p < FALSE_ALARM) || !(fabs(first.mean) > least_effect(m)))
        return;
    COOLING_RAISE(c, "first-shots", NULL, 0,
                  "%s of the first shot of a condition is %s %s than of those that follow, on "
                  "average over %zu conditions",
                  m->words, fine(c, m, first.mean), first.mean > 0.0 ? "more" : "less",
                  first.blocks);
}

/* Condition scatter comes on top of the shots', so a whole tolerance is asked for besides. */
static void check_drift(struct cooling *c, const struct cooling_measure *m)
{
    const struct math_blocks *b = &m->blocks;
    for (size_t i = 0; i < b->n_blocks; i++)
        for (size_t j = i + 1; j < b->n_blocks; j++) {
            double d = b->b[j].mean - b->b[i].mean;
            double se = m->r.shot_sd * sqrt(1.0 / (double)b->b[i].n + 1.0 / (double)b->b[j].n);
            if (b->b[i].group != b->b[j].group || !(m->r.shot_dof > 0.0) ||
                !(fabs(d) > m->r.tolerance) ||
                (se > 0.0 && !(math_two_sided_p(d / se, m->r.shot_dof) < FALSE_ALARM)))
                continue;
            size_t shot = m->shot[b->b[j].first];
            COOLING_RAISE(c, "drift", cooling_file(c, shot), cooling_line(c, shot),
                          "%s was run twice; the second time %s is %s %s",
                          cooling_time(c, b->b[i].x, PL_NAN), m->words, fine(c, m, d),
                          d > 0.0 ? "more" : "less");
            return;
        }
}

void cooling_check_shots(struct cooling *c, const struct cooling_measure *m)
{
    check_odd(c, m);
    check_first(c, m);
    if (m->settles)
        check_drift(c, m);
}
