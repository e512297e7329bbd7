/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was measured against closed time: shots, fit, limits, tolerance, bound. */
#include <math.h>
#include <string.h>

#include "cooling.h"

#define CURVE_POINTS 121
#define NAME_LENGTH 40

static bool is_taken(const struct cooling *c, const char *name)
{
    for (size_t i = 0; i < c->f->n_figures; i++)
        if (strcmp(c->f->figures[i].name, name) == 0)
            return true;
    return false;
}

/* A file name of its own for every measure, whatever people call it. */
static const char *name_of(const struct cooling *c, const struct cooling_measure *m)
{
    struct text t;
    text_init(&t, c->a);
    text_add(&t, "cooling-");
    size_t from = t.length;
    for (const char *p = m->name; *p != '\0' && t.length < NAME_LENGTH; p++) {
        char low = *p >= 'A' && *p <= 'Z' ? (char)(*p - 'A' + 'a') : *p;
        if ((low >= 'a' && low <= 'z') || (low >= '0' && low <= '9'))
            text_add_char(&t, low);
        else if (t.s[t.length - 1] != '-')
            text_add_char(&t, '-');
    }
    if (t.length == from)
        text_add(&t, "dimension");
    const char *name = t.s;
    for (int number = 2; is_taken(c, name); number++)
        name = arena_printf(c->a, "%s-%d", t.s, number);
    return name;
}

double cooling_band_factor(const struct cooling *c, const struct cooling_measure *m,
                           const struct family_fit *f)
{
    double q = 0.5 + c->confidence / 2.0, p = (double)f->p;
    double rows = (double)m->blocks.n_rows - p, blocks = (double)m->blocks.n_blocks - p;
    double by_rows = math_t_quantile(q, rows);
    if (!(blocks > 0.0) || !(f->residual_sd > 0.0))
        return by_rows;
    double ratio = sqrt(f->rss_means / blocks) / f->residual_sd;
    return fmax(by_rows, ratio * math_t_quantile(q, blocks));
}

/* ---- parts of a figure -------------------------------------------------------------------------
 */

static void add_shots(struct cooling *c, const struct cooling_measure *m, const struct cooling *all,
                      struct figure *fig)
{
    fig->series = ARENA_ARRAY(c->a, struct series, 2);
    fig->series[fig->n_series++] =
        (struct series){.label = "shots", .role = SERIES_SHOTS, .n = m->n, .x = m->x, .y = m->y};
    for (size_t k = 0; all != NULL && k < all->n_measures; k++) {
        const struct cooling_measure *other = &all->measure[k];
        if (strcmp(other->name, m->name) != 0)
            continue;
        double *x = ARENA_ARRAY(c->a, double, other->n), *y = ARENA_ARRAY(c->a, double, other->n);
        size_t n = 0;
        for (size_t i = 0; i < other->n; i++)
            if (cooling_row(all, other->shot[i])->excluded) {
                x[n] = other->x[i];
                y[n++] = other->y[i];
            }
        if (n > 0)
            fig->series[fig->n_series++] = (struct series){
                .label = "left out", .role = SERIES_EXCLUDED, .n = n, .x = x, .y = y};
    }
}

static double *curve_x(const struct cooling *c, const struct cooling_measure *m)
{
    const struct math_blocks *b = &m->blocks;
    double *x = ARENA_ARRAY(c->a, double, CURVE_POINTS);
    double low = b->group_x[0], high = b->group_x[b->n_groups - 1];
    for (size_t i = 0; i < CURVE_POINTS; i++)
        x[i] = low + (high - low) * (double)i / (CURVE_POINTS - 1);
    return x;
}

static void add_curves(struct cooling *c, const struct cooling_measure *m, struct figure *fig)
{
    const double *x = curve_x(c, m);
    double first = m->blocks.group_x[0];
    fig->curves = ARENA_ARRAY(c->a, struct curve, FAMILY_N);
    if (m->temperature && m->decay.curve) {
        double *y = ARENA_ARRAY(c->a, double, CURVE_POINTS);
        for (size_t i = 0; i < CURVE_POINTS; i++)
            y[i] = decay_value(&m->decay, x[i], first);
        fig->curves[fig->n_curves++] =
            (struct curve){"exponential decay", CURVE_FIT, CURVE_POINTS, x, y};
    }
    for (int id = 0; id < FAMILY_N && m->settles; id++) {
        const struct family_fit *f = &m->r.family[id];
        bool best = id == m->r.best;
        if (!f->tried || !(best || (f->plateau && f->in_play)))
            continue;
        double *y = ARENA_ARRAY(c->a, double, CURVE_POINTS);
        for (size_t i = 0; i < CURVE_POINTS; i++)
            y[i] = family_value(f, x[i], first);
        fig->curves[fig->n_curves++] =
            (struct curve){f->name, best ? CURVE_FIT : CURVE_CANDIDATE, CURVE_POINTS, x, y};
    }
}

static void add_rule(struct figure *fig, const char *label, enum rule_role role, double at)
{
    fig->rules[fig->n_rules++] = (struct rule){label, role, false, at};
}

static void add_limits(struct cooling *c, const struct cooling_measure *m, struct figure *fig)
{
    const char *high = m->temperature ? "ejection temperature" : "upper limit";
    if (isfinite(m->high))
        add_rule(fig, arena_printf(c->a, "%s %s", high, cooling_limit_text(c, m, m->high)),
                 RULE_LIMIT, m->high);
    if (isfinite(m->low))
        add_rule(fig, arena_printf(c->a, "lower limit %s", cooling_limit_text(c, m, m->low)),
                 RULE_LIMIT, m->low);
    const struct plateau_answer *r = &m->r;
    if (!m->settles || !isfinite(r->level))
        return;
    fig->regions[fig->n_regions++] = (struct region){
        arena_printf(c->a, "end value +-%s", cooling_amount(c, m, r->tolerance, PL_NAN)),
        REGION_CHOSEN,
        -PL_INF,
        PL_INF,
        r->level - r->tolerance,
        r->level + r->tolerance};
}

/* The measure's own bound, the latest of them where there are two. */
static void add_bound(struct cooling *c, const struct cooling_measure *m, struct figure *fig)
{
    const struct cooling_limit *last = NULL;
    for (size_t i = 0; i < c->n_limits; i++) {
        const struct cooling_limit *l = &c->limit[i];
        if (l->m == m && l->bounded && (last == NULL || l->high > last->high))
            last = l;
    }
    if (last == NULL)
        return;
    fig->rules[fig->n_rules++] =
        (struct rule){arena_printf(c->a, "%s at least %s", cooling_axis(c),
                                   cooling_time(c, last->high, c->time_step)),
                      RULE_BOUND, true, last->high};
    if (isfinite(last->low) && last->high > last->low)
        fig->regions[fig->n_regions++] =
            (struct region){"interval", REGION_INTERVAL, last->low, last->high, -PL_INF, PL_INF};
}

static const char *capital(struct arena *a, const char *s)
{
    char *out = arena_copy(a, s);
    if (out[0] >= 'a' && out[0] <= 'z')
        out[0] = (char)(out[0] - 'a' + 'A');
    return out;
}

static const char *title_of(struct cooling *c, const struct cooling_measure *m)
{
    const struct cooling_limit *l = m->temperature ? cooling_limit_of(c, m, "ejection_temperature")
                                                   : cooling_limit_of(c, m, "cooling_tolerance");
    const char *name = capital(c->a, m->words);
    if (l == NULL || !l->bounded || l->verdict != VERDICT_MET)
        return arena_printf(c->a, "%s against %s", name, cooling_axis(c));
    const char *from = cooling_time(c, l->high, c->time_step);
    return m->temperature ? arena_printf(c->a, "The part is cold enough from %s on", from)
                          : arena_printf(c->a, "%s has settled from %s on", name, from);
}

static void draw(struct cooling *c, const struct cooling_measure *m, const struct cooling *all)
{
    const char *name = name_of(c, m);
    struct figure *fig = finding_figure(c->f, name);
    fig->title = title_of(c, m);
    fig->x.title = capital(c->a, cooling_axis(c));
    fig->x.setting = cooling_setting_name(c);
    fig->x.dimension = DIM_TIME;
    fig->y.title =
        capital(c->a, m->n_columns < 2 ? m->words
                      : m->temperature ? arena_printf(c->a, "%s, hottest cavity", m->words)
                                       : arena_printf(c->a, "%s, mean of the cavities", m->words));
    fig->y.dimension = m->dimension;
    fig->rules = ARENA_ARRAY(c->a, struct rule, 4);
    fig->regions = ARENA_ARRAY(c->a, struct region, 2);
    fig->description =
        arena_printf(c->a, "%s of %zu shots at %zu different times. %s", capital(c->a, m->words),
                     m->n, m->blocks.n_groups, c->f->decision);
    add_shots(c, m, all, fig);
    add_curves(c, m, fig);
    add_limits(c, m, fig);
    add_bound(c, m, fig);
}

void cooling_figures(struct cooling *c, const struct cooling *all)
{
    for (size_t i = 0; i < c->n_measures; i++)
        draw(c, &c->measure[i], all);
}
