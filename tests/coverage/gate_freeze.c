/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cells of gate-freeze: one column of weights. */
#include <math.h>
#include <string.h>

#include "coverage.h"
#include "plateau/math.h"

#define RIVALS_EVERY 8 /* the slow rivals see every eighth trial */
#define RISE 1.2       /* g, of the curves above the first setting */

enum trouble { NO_TROUBLE, OUTLIER, STRAY, FIRST_SHOT, DRIFT };

struct design {
    struct curve_truth truth;
    size_t m, shots;
    double first, last;
    double sd, between, step; /* g; between in shot sds */
    bool proportional, slope;
    bool repeat;
    enum trouble trouble;
    double size; /* of the trouble, g */
    double tolerance, answer;
};

static void design_of(const struct cov_cell *c, struct arena *a, struct design *d)
{
    *d = (struct design){.m = (size_t)cov_number(c, "conditions", 8),
                         .shots = (size_t)cov_number(c, "shots", 3),
                         .first = cov_number(c, "first", 2.0),
                         .last = cov_number(c, "last", 9.0),
                         .between = cov_number(c, "between", 0.0),
                         .step = cov_number(c, "step", 0.001),
                         .proportional = cov_is(c, "noise", "proportional"),
                         .slope = cov_is(c, "noise", "slope"),
                         .repeat = cov_number(c, "repeat", 0.0) > 0.0};
    truth_of(c, a, &d->truth);
    d->tolerance = COV_TOLERANCE * d->truth.plateau;
    d->sd = cov_number(c, "sd", 0.3) * d->tolerance;
    d->answer = truth_answer(&d->truth, d->tolerance);
    static const char *const troubles[] = {"none", "outlier", "stray", "first-shot", "drift"};
    for (size_t i = 1; i < PL_COUNT(troubles); i++)
        if (cov_is(c, "trouble", troubles[i]))
            d->trouble = (enum trouble)i;
    d->size = cov_number(c, "size", 0.0) * d->tolerance;
}

static double setting(const struct design *d, size_t i)
{
    return d->first + (d->last - d->first) * (double)i / (double)(d->m - 1);
}

/* Scatter of a shot: alike; in proportion to the weight; or 1.6 times on the slope and half on the
 * plateau. */
static double scatter_at(const struct design *d, double weight)
{
    double short_of = d->truth.plateau - weight;
    if (d->proportional)
        return d->sd * weight / d->truth.plateau;
    return d->slope ? d->sd * (0.5 + 1.1 * fmin(1.0, fmax(0.0, short_of / RISE))) : d->sd;
}

struct drawn {
    size_t n;
    double x[(COV_CONDITIONS + 1) * COV_SHOTS], y[(COV_CONDITIONS + 1) * COV_SHOTS];
};

static void make_trouble(const struct design *d, struct sim_stream *s, struct drawn *r)
{
    size_t pick = (size_t)(sim_uniform(s) * (double)r->n);
    double sign = sim_uniform(s) < 0.5 ? -1.0 : 1.0;
    switch (d->trouble) {
    case NO_TROUBLE:
        break;
    case OUTLIER:
        r->y[pick] += sign * d->size;
        break;
    case STRAY: { /* a shot of the neighbouring setting stands in the wrong row */
        double gap = (d->last - d->first) / (double)(d->m - 1), x = r->x[pick];
        double from = x + sign * gap < d->first - 0.5 * gap || x + sign * gap > d->last + 0.5 * gap
                          ? x - sign * gap
                          : x + sign * gap;
        r->y[pick] += truth_value(&d->truth, from) - truth_value(&d->truth, x);
        break;
    }
    case FIRST_SHOT:
        for (size_t i = 0; i < r->n; i += d->shots)
            r->y[i] -= d->size;
        break;
    case DRIFT:
        for (size_t i = 0; i < r->n; i++)
            r->y[i] += d->size * (double)i / (double)(r->n - 1);
        break;
    }
}

static void draw(const struct design *d, struct sim_stream *s, struct drawn *r)
{
    r->n = 0;
    for (size_t k = 0; k < d->m + (d->repeat ? 1 : 0); k++) {
        double x = setting(d, k < d->m ? k : 0), w = truth_value(&d->truth, x);
        double sd = scatter_at(d, w), off = d->between * sd * sim_normal(s);
        for (size_t j = 0; j < d->shots; j++) {
            r->x[r->n] = x;
            r->y[r->n++] = w + off + sd * sim_normal(s);
        }
    }
    make_trouble(d, s, r);
    for (size_t i = 0; i < r->n; i++)
        if (d->step > 0.0)
            r->y[i] = round(r->y[i] / d->step) * d->step;
}

static void analyze(const struct design *d, const struct drawn *r, struct arena *a,
                    struct finding *out)
{
    struct cov_sheet s;
    cov_sheet_init(&s, a, "gate-freeze", 2, r->n);
    cov_sheet_column(&s, "hold_time", 0, 0.1);
    cov_sheet_column(&s, "weight", 0, d->step);
    for (size_t i = 0; i < r->n; i++) {
        struct cell *cells = cov_sheet_row(&s);
        cells[0] = cov_value(r->x[i]);
        cells[1] = cov_value(r->y[i]);
    }
    cov_sheet_analyze(&s, out);
}

/* ---- the program --------------------------------------------------------------------------------
 */

static bool bounded(const struct finding *f)
{
    for (size_t i = 0; i < f->n_bounds; i++)
        if (strcmp(f->bounds[i].setting, "hold_time") == 0)
            return true;
    return false;
}

static bool value_given(const struct finding *f)
{
    const struct quantity *q = finding_get(f, "freeze_time");
    return q != NULL && isfinite(q->value);
}

static void count_program(const struct design *d, const struct finding *f, struct cov_rows *out)
{
    double low, high;
    cov_quantity(f, "freeze_time", &low, &high);
    cov_interval(out, "freeze_time", "program", low, high, d->answer);
    cov_quantity(f, "plateau_weight", &low, &high);
    cov_interval(out, "plateau_weight", "program", low, high, d->truth.plateau);
    cov_quantity(f, "plateau_start", &low, &high);
    if (shape_corner(d->truth.shape))
        cov_interval(out, "plateau_start", "program", low, high, d->truth.theta[0]);
    else
        cov_share(out, "corner told of a curve without one", !isnan(low));
    cov_share(out, "hold time bounded", bounded(f));
}

/* ---- rivals -------------------------------------------------------------------------------------
 */

static void means_of(const struct design *d, const struct drawn *r, struct cov_means *m)
{
    double sum = 0.0, n = (double)d->shots;
    *m = (struct cov_means){.m = d->m, .shots = d->shots, .step = d->step};
    for (size_t k = 0; k < d->m; k++) {
        const double *y = &r->y[k * d->shots];
        m->x[k] = setting(d, k);
        for (size_t j = 0; j < d->shots; j++)
            m->y[k] += y[j] / n;
        for (size_t j = 0; j < d->shots; j++)
            m->sspe += (y[j] - m->y[k]) * (y[j] - m->y[k]);
    }
    sum = m->y[d->m - 1] + m->y[d->m - 2];
    m->tolerance = fmax(COV_TOLERANCE * sum / 2.0, d->step);
}

/* Hull of the profiles of the plateau curves in play, without the bracket. */
static void envelope(const struct design *d, const struct finding *f, double *low, double *high)
{
    *low = *high = PL_NAN;
    for (size_t i = 0; i < f->n_models; i++) {
        const struct model *m = &f->models[i];
        if (!m->plateau || !m->in_play || isnan(m->answer_low))
            continue;
        *low = isnan(*low) ? m->answer_low : fmin(*low, m->answer_low);
        *high = isnan(*high) ? m->answer_high : fmax(*high, m->answer_high);
    }
    if (*high > d->last)
        *high = PL_INF;
}

static void count_rivals(const struct design *d, const struct drawn *r, const struct finding *f,
                         const struct grids *grids, bool slow, struct sim_stream *s,
                         struct cov_rows *out)
{
    struct cov_means m;
    double low, high;
    means_of(d, r, &m);
    cov_quantity(f, "freeze_time", &low, &high);
    bool told = !isnan(low); /* the rivals answer the trials the program answers */
    envelope(d, f, &low, &high);
    cov_interval(out, "freeze_time", "envelope", told ? low : PL_NAN, high, d->answer);
    rival_isotonic(&m, &low, &high);
    cov_interval(out, "freeze_time", "isotonic bracket", told ? low : PL_NAN, high, d->answer);
    if (!slow)
        return;
    rival_bootstrap(grids, &m, s, &low, &high);
    cov_interval(out, "freeze_time", "bootstrap", told ? low : PL_NAN, high, d->answer);
    rival_oracle(&d->truth, &m, &low, &high);
    cov_interval(out, "freeze_time", "oracle", told ? low : PL_NAN, high, d->answer);
}

/* ---- a cell -------------------------------------------------------------------------------------
 */

static bool any_flag(const struct finding *f, const char *const *codes, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (finding_has_flag(f, codes[i]))
            return true;
    return false;
}

static void count_trouble(const struct design *d, const struct finding *f, struct cov_rows *out)
{
    static const char *const odd[] = {"outlier", "stray-shot", "scatter-large"};
    static const char *const first[] = {"first-shots"};
    static const char *const drift[] = {"drift", "late-rise", "weight-falls", "gate-not-frozen"};
    double low, high;
    cov_quantity(f, "freeze_time", &low, &high);
    bool flagged = d->trouble == DRIFT        ? any_flag(f, drift, PL_COUNT(drift))
                   : d->trouble == FIRST_SHOT ? any_flag(f, first, PL_COUNT(first))
                                              : any_flag(f, odd, PL_COUNT(odd));
    cov_share(out, "flagged", flagged);
    if (!isnan(low))
        cov_share(out, "flagged or covered", flagged || (low <= d->answer && d->answer <= high));
}

void cov_gate_freeze(const struct cov_cell *c, size_t trials, struct cov_rows *out)
{
    struct arena *kept = arena_new();
    struct design d;
    double x[COV_CONDITIONS];
    design_of(c, kept, &d);
    for (size_t i = 0; i < d.m; i++)
        x[i] = setting(&d, i);
    bool compare = strcmp(c->group, "inside") == 0 || strcmp(c->group, "outside") == 0;
    struct grids *grids = compare ? rival_grids(kept, x, d.m) : NULL;
    for (size_t t = 0; t < trials; t++) {
        struct arena *a = arena_new();
        struct sim_stream s = cov_stream(c, t);
        struct drawn r;
        struct finding f;
        draw(&d, &s, &r);
        analyze(&d, &r, a, &f);
        if (strcmp(c->group, "invent") == 0) {
            cov_share(out, "plateau claimed", bounded(&f) || value_given(&f));
            cov_share(out, "hold time bounded", bounded(&f));
        } else {
            count_program(&d, &f, out);
        }
        if (d.trouble != NO_TROUBLE)
            count_trouble(&d, &f, out);
        if (compare)
            count_rivals(&d, &r, &f, grids, t % RIVALS_EVERY == 0, &s, out);
        arena_free(a);
    }
    arena_free(kept);
}

/* The other side: the plateau is reached no earlier than the last setting but one. */
double cov_gate_freeze_distance(const struct cov_cell *c)
{
    struct arena *a = arena_new();
    struct design d;
    struct cov_means m;
    double variance[COV_CONDITIONS];
    design_of(c, a, &d);
    bool applies = strcmp(c->group, "invent") != 0;
    m = (struct cov_means){.m = d.m, .shots = d.shots, .tolerance = d.tolerance};
    for (size_t i = 0; i < d.m; i++) {
        m.x[i] = setting(&d, i);
        m.y[i] = truth_value(&d.truth, m.x[i]);
        double sd = scatter_at(&d, m.y[i]);
        variance[i] = sd * sd * (d.between * d.between + 1.0 / (double)d.shots);
    }
    double distance =
        applies ? truth_distance(&d.truth, &m, variance, setting(&d, d.m - 2)) : (double)NAN;
    arena_free(a);
    return distance;
}
