/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shots that stand off, and first shots after a change, of each measure. */
#include <math.h>

#include "cooling.h"

#define LEAST_KELVIN 0.5 /* smaller effects on a temperature are not worth a doubt */
#define LEAST_SHARE 0.1  /* of the tolerance, likewise */

struct shown {
    const struct cooling *c;
    const struct cooling_measure *m;
};

static const char *size_of(const void *context, double distance)
{
    const struct shown *s = context;
    enum dimension d = s->m->temperature ? DIM_TEMPERATURE_STEP : s->m->dimension;
    return value_text(s->c->a, s->c->trial->display, d, distance, distance / 10.0);
}

static double least_effect(const struct cooling_measure *m)
{
    return m->temperature ? LEAST_KELVIN : m->settles ? LEAST_SHARE * m->r.tolerance : 0.0;
}

void cooling_check_shots(struct cooling *c, const struct cooling_measure *m)
{
    const char **name = ARENA_ARRAY(c->a, const char *, m->blocks.n_groups);
    size_t *row = ARENA_ARRAY(c->a, size_t, m->n);
    for (size_t i = 0; i < m->blocks.n_groups; i++)
        name[i] = cooling_time(c, m->blocks.group_x[i], PL_NAN);
    for (size_t i = 0; i < m->n; i++)
        row[i] = c->shot[m->shot[i]].row;
    struct shown shown = {c, m};
    struct study_shots s = {.finding = c->f,
                            .table = c->table,
                            .row = row,
                            .y = m->y,
                            .blocks = &m->blocks,
                            .step = m->step,
                            .least_first = least_effect(m),
                            .of = c->n_measures,
                            .name = name,
                            .noun = "condition",
                            .before = "",
                            .in = arena_printf(c->a, " in %s", m->words),
                            .more = "more",
                            .less = "less",
                            .verb = "is",
                            .size = size_of,
                            .first = size_of,
                            .context = &shown};
    study_flag_shots(&s);
}
