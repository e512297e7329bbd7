/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Limits: from which tested closed time on is the share of parts inside them shown? */
#include <math.h>

#include "cooling.h"

#define MOST_SHOTS 200

/* ---- scatter of a part at a setting that is set anew -------------------------------------------
 */

struct scatter {
    double shot, block; /* variances: from shot to shot; from condition to condition in excess */
    double total, dof;  /* of one part; Satterthwaite */
};

/* Mean square of block means around a curve, its degrees of freedom, and the shots' beside it. */
struct around {
    double square, dof, shot, shot_dof, shots;
};

/* Settings run more than once tell it without a curve. */
static void around_settings(const struct cooling_measure *m, struct around *out)
{
    if (isnan(m->r.revisit_sd))
        return;
    out->dof = (double)(m->blocks.n_blocks - m->blocks.n_groups);
    out->square = out->shot + out->shots * m->r.revisit_sd * m->r.revisit_sd;
}

/* On block means: chosen on shots, a curve bends after the scatter of conditions and hides it. */
static double aicc_of_means(const struct family_fit *f, double blocks)
{
    double k = (double)f->p + 1.0, left = blocks - k - 1.0;
    if (!(left > 0.0))
        return PL_INF;
    return blocks * log(fmax(f->rss_means, 1e-300) / blocks) + 2.0 * k + 2.0 * k * (k + 1.0) / left;
}

static struct around around_curve(const struct cooling_measure *m)
{
    const struct math_blocks *b = &m->blocks;
    const struct family_fit *best = NULL;
    double least = PL_INF;
    struct around out = {.shots = (double)b->n_rows / (double)b->n_blocks};
    out.shot_dof = (double)(b->n_rows - b->n_blocks);
    out.shot = out.shot_dof > 0.0 ? b->sspe / out.shot_dof : 0.0;
    /* too few conditions for a curve that bends: what a straight line leaves is no scatter */
    for (int id = 0; id < FAMILY_N && m->r.best >= 0; id++) {
        const struct family_fit *f = &m->r.family[id];
        double aicc = f->tried ? aicc_of_means(f, (double)b->n_blocks) : PL_INF;
        if (aicc < least) {
            least = aicc;
            best = f;
        }
    }
    if (best == NULL) {
        around_settings(m, &out);
        return out;
    }
    out.dof = (double)b->n_blocks - (double)best->p;
    out.square = best->rss_means / out.dof;
    return out;
}

static bool scatter_of(const struct cooling_measure *m, const struct cooling_column *column,
                       const struct math_blocks *b, struct scatter *out)
{
    struct around r = around_curve(m);
    double least = column->step * column->step / 12.0;
    double dof = (double)(b->n_rows - b->n_blocks);
    double shot = dof > 0.0 ? fmax(b->sspe / dof, least) : 0.0;
    *out = (struct scatter){.shot = shot, .total = shot, .dof = dof};
    if (r.dof > 0.0)
        out->block = fmax(0.0, (r.square - r.shot) / r.shots);
    if (!(out->block > 0.0))
        return dof > 0.0;
    out->total = fmax(shot + out->block, least);
    double between = r.square / r.shots, v = between * between / r.dof;
    if (m->n_columns > 1) { /* the curve is of the mean: its shots' scatter is another estimate */
        v += dof > 0.0 ? shot * shot / dof : 0.0;
        v += r.shot_dof > 0.0 ? pow(r.shot / r.shots, 2.0) / r.shot_dof : 0.0;
    } else if (dof > 0.0) {
        v += pow(shot * (1.0 - 1.0 / r.shots), 2.0) / dof;
    }
    out->dof = fmax(1.0, out->total * out->total / v);
    return true;
}

/* How many parts' worth of scatter a mean of n shots in `visits` conditions averages over. */
static double parts_of(const struct scatter *s, double n, double visits)
{
    double v = s->shot / n + s->block / visits;
    return v > 0.0 ? s->total / v : n;
}

/* ---- one closed time ---------------------------------------------------------------------------
 */

struct ask {
    double high, low; /* limits */
    double share, confidence, n, dof;
    double needed, missed; /* distance of mean and limit that shows the share, that refutes it */
};

static bool two_sided(const struct ask *a)
{
    return isfinite(a->low) && isfinite(a->high);
}

/* On each of two sides half of what may lie outside. The share is refuted where fewer are shown to
 * be inside one limit than must be inside both. */
static void find_factors(struct ask *a)
{
    double p = two_sided(a) ? (1.0 + a->share) / 2.0 : a->share;
    a->needed = math_tolerance_factor(p, a->confidence, a->n, a->dof);
    a->missed = math_tolerance_factor(a->share, 1.0 - a->confidence, a->n, a->dof);
}

static double distance(double d, double sd)
{
    return sd > 0.0 ? fmax(-1e3, fmin(1e3, d / sd)) : d < 0.0 ? -1e3 : 1e3;
}

static double above(const struct cooling_measure *m, const struct cooling_share *s)
{
    return isfinite(m->high) ? distance(m->high - s->mean, s->sd) : PL_INF;
}

static double below(const struct cooling_measure *m, const struct cooling_share *s)
{
    return isfinite(m->low) ? distance(s->mean - m->low, s->sd) : PL_INF;
}

/* Bounds of the share inside: one side each. */
static void find_shares(const struct cooling *c, const struct cooling_measure *m,
                        struct cooling_share *s)
{
    const double d[2] = {above(m, s), below(m, s)};
    bool both = isfinite(d[0]) && isfinite(d[1]);
    s->share = fmax(0.0, math_normal_share(d[0]) + math_normal_share(d[1]) - 1.0);
    s->share_low = s->share_high = 1.0;
    for (int side = 0; side < 2; side++) {
        if (!isfinite(d[side]))
            continue;
        double least = math_share_bound(d[side], c->confidence, s->parts, s->dof);
        double most = math_share_bound(d[side], 1.0 - c->confidence, s->parts, s->dof);
        s->share_low = fmin(s->share_low, both ? fmax(0.0, 2.0 * least - 1.0) : least);
        s->share_high = fmin(s->share_high, most);
    }
}

static size_t visits_of(const struct math_blocks *b, size_t group)
{
    size_t n = 0;
    for (size_t i = 0; i < b->n_blocks; i++)
        n += b->b[i].group == group;
    return n;
}

/* Worse: a worse verdict, then less room beside what is needed. */
static bool is_worse(const struct cooling_share *a, const struct cooling_share *b)
{
    if (a->verdict != b->verdict)
        return a->verdict > b->verdict;
    return a->nearest - a->k < b->nearest - b->k;
}

/* Keeps the cavity that comes off worst at each closed time, times rising. */
static void keep_worst(struct cooling_yield *y, const struct cooling_share *at)
{
    size_t i = 0;
    while (i < y->n && y->at[i].x < at->x)
        i++;
    if (i < y->n && y->at[i].x == at->x) {
        if (is_worse(at, &y->at[i]))
            y->at[i] = *at;
        return;
    }
    for (size_t j = y->n++; j > i; j--)
        y->at[j] = y->at[j - 1];
    y->at[i] = *at;
}

static void add_column(struct cooling *c, struct cooling_measure *m,
                       const struct cooling_column *column)
{
    struct math_blocks b;
    struct scatter s;
    math_blocks_make(c->a, column->x, column->y, column->n, &b);
    if (!scatter_of(m, column, &b, &s)) {
        m->yield.known = false;
        return;
    }
    struct ask ask = {m->high, m->low, c->yield, c->confidence, 0.0, s.dof, 0.0, 0.0};
    for (size_t g = 0; g < b.n_groups; g++) {
        struct cooling_share at = {.x = b.group_x[g],
                                   .mean = b.group_mean[g],
                                   .sd = sqrt(s.total),
                                   .n = b.group_n[g],
                                   .cavity = column->cavity,
                                   .shot_variance = s.shot,
                                   .block_variance = s.block,
                                   .dof = s.dof};
        at.parts = parts_of(&s, (double)at.n, (double)visits_of(&b, g));
        if (at.parts != ask.n) {
            ask.n = at.parts;
            find_factors(&ask);
        }
        at.k = ask.needed;
        at.nearest = fmin(above(m, &at), below(m, &at));
        at.verdict = at.nearest >= ask.needed  ? VERDICT_MET
                     : at.nearest < ask.missed ? VERDICT_NOT_MET
                                               : VERDICT_NOT_SHOWN;
        keep_worst(&m->yield, &at);
    }
}

/* ---- a larger study ----------------------------------------------------------------------------
 */

/* The factors at a closed time if every cooling time were run with n shots. */
static struct ask with_shots(const struct cooling *c, const struct cooling_measure *m,
                             const struct cooling_share *at, double n)
{
    struct around r = around_curve(m);
    struct ask a = {m->high, m->low, c->yield, c->confidence, n, 0.0, 0.0, 0.0};
    double total = at->shot_variance + at->block_variance;
    double blocks = (double)m->blocks.n_blocks;
    a.dof = blocks * (n - 1.0);
    if (at->block_variance > 0.0) {
        double between = at->block_variance + at->shot_variance / n;
        double v = between * between / fmax(r.dof, 1.0);
        if (n > 1.0)
            v += pow(at->shot_variance * (1.0 - 1.0 / n), 2.0) / (blocks * (n - 1.0));
        a.dof = total * total / v;
        a.n = total / between;
    }
    a.dof = fmax(1.0, a.dof);
    find_factors(&a);
    return a;
}

static bool band_is_met(const struct cooling_measure *m, const struct cooling_share *at,
                        const struct ask *a)
{
    return 2.0 * a->needed * at->sd <= m->high - m->low;
}

static bool is_decided(const struct cooling_measure *m, const struct cooling_share *at,
                       const struct ask *a)
{
    (void)m;
    return at->nearest >= a->needed || at->nearest < a->missed;
}

/* Least shots at each cooling time, from `from` on, that do; -1: no number up to MOST_SHOTS. The
 * factors narrow with every shot, so halving finds it. */
static int least_shots(const struct cooling *c, const struct cooling_measure *m,
                       const struct cooling_share *at, int from,
                       bool (*enough)(const struct cooling_measure *, const struct cooling_share *,
                                      const struct ask *))
{
    struct ask a = with_shots(c, m, at, MOST_SHOTS);
    if (!enough(m, at, &a))
        return -1;
    int low = from - 1, high = MOST_SHOTS;
    while (high - low > 1) {
        int middle = low + (high - low) / 2;
        a = with_shots(c, m, at, (double)middle);
        if (enough(m, at, &a))
            high = middle;
        else
            low = middle;
    }
    return high;
}

/* ---- from which closed time on -----------------------------------------------------------------
 */

static void find_bound(struct cooling *c, struct cooling_measure *m)
{
    struct cooling_yield *y = &m->yield;
    struct cooling_limit *l = cooling_add_limit(c, m, "cooling_yield");
    size_t shown = y->n, open = y->n; /* first from which on all are met, none is missed */
    l->verdict = VERDICT_NOT_SHOWN;
    l->rows = m->n;
    l->model = "tested closed times";
    if (!y->known || c->age == COOLING_AGE_TOO_YOUNG)
        return;
    while (shown > 0 && y->at[shown - 1].verdict == VERDICT_MET)
        shown--;
    while (open > 0 && y->at[open - 1].verdict != VERDICT_NOT_MET)
        open--;
    size_t from = shown < y->n ? shown : open;
    l->bounded = from < y->n;
    l->withdraws = !l->bounded;
    y->reference = l->bounded ? from : y->n - 1;
    l->verdict = cooling_cap(c, m,
                             shown < y->n ? VERDICT_MET
                             : l->bounded ? VERDICT_NOT_SHOWN
                                          : VERDICT_NOT_MET);
    l->value = PL_NAN;
    l->low = from > 0 ? y->at[from - 1].x : -PL_INF;
    l->high = l->bounded ? y->at[from].x : PL_NAN;
}

static int shots_each(const struct cooling_measure *m)
{
    double n = (double)m->blocks.n_rows / (double)m->blocks.n_blocks;
    return (int)fmax(2.0, ceil(n));
}

void cooling_find_yield(struct cooling *c, struct cooling_measure *m)
{
    struct cooling_yield *y = &m->yield;
    *y = (struct cooling_yield){.known = true,
                                .at = ARENA_ARRAY(c->a, struct cooling_share, c->n_settings)};
    for (size_t i = 0; i < m->n_columns; i++)
        add_column(c, m, &m->column[i]);
    y->known = y->known && y->n > 0;
    find_bound(c, m);
    if (!y->known)
        return;
    for (size_t i = 0; i < y->n; i++)
        find_shares(c, m, &y->at[i]);
    const struct cooling_share *at = &y->at[y->reference];
    int now = shots_each(m);
    y->too_narrow =
        isfinite(m->low) && isfinite(m->high) && m->high - m->low < 2.0 * at->k * at->sd;
    if (y->too_narrow)
        y->shots_needed = least_shots(c, m, at, now, band_is_met);
    if (at->verdict == VERDICT_NOT_SHOWN) {
        int need = least_shots(c, m, at, now + 1, is_decided);
        y->shots_to_decide = need < 0 ? -1 : need - now;
    }
}

/* ---- what is told of it ------------------------------------------------------------------------
 */

static const char *who(const struct cooling *c, const struct cooling_measure *m,
                       const struct cooling_share *s)
{
    return s->cavity > 0 ? arena_printf(c->a, "%s of cavity %d", m->words, s->cavity) : m->words;
}

static const char *sentence_of(const struct cooling *c, const struct cooling_measure *m)
{
    const struct cooling_yield *y = &m->yield;
    if (!y->known)
        return "with one shot at each cooling time the scatter of the parts is not known";
    if (c->age == COOLING_AGE_TOO_YOUNG)
        return arena_printf(c->a,
                            "the parts were measured before they were %s old: limits do not count "
                            "yet",
                            value_text(c->a, c->trial->display, DIM_AGE, c->conditioning, PL_NAN));
    const struct cooling_share *s = &y->at[y->reference];
    const char *figures = arena_printf(
        c->a, "at %s %s is %s with a scatter of %s (sd)", cooling_time(c, s->x, PL_NAN),
        who(c, m, s), cooling_amount(c, m, s->mean, s->sd),
        value_text(c->a, c->trial->display, m->dimension, s->sd, s->sd / 10.0));
    const char *k = number_text(c->a, s->k, 3);
    const char *limits = cooling_limits(c, m);
    const char *both = isfinite(m->low) && isfinite(m->high) ? "each limit" : "the limit";
    if (s->verdict == VERDICT_MET)
        return arena_printf(
            c->a, "%s; %s sd fit between the mean and %s (%s)%s", figures, k, both, limits,
            c->age == COOLING_AGE_NOT_GIVEN
                ? "; this does not count as shown, because the age of the parts is "
                  "not given"
            : c->hold_from == NULL ? "; this does not count as shown, because the hold time is not "
                                     "given: enter it in a column hold_time, or in trial.ini, "
                                     "[running] hold_time"
                                   : "");
    if (s->verdict == VERDICT_NOT_MET)
        return arena_printf(c->a,
                            "%s; fewer than %s of such parts are inside the limits (%s), at the "
                            "longest time tested too",
                            figures, cooling_share_text(c, c->yield), limits);
    return arena_printf(c->a,
                        "%s; %s sd would have to fit between the mean and %s (%s), and only %s do",
                        figures, k, both, limits, number_text(c->a, s->nearest, 3));
}

#define SHARE_MOST 0.9999 /* no model of a scatter is good enough to tell more */

/* Digits of the column of means: as many as its scatter leaves two of. */
static int digits_of_means(const struct cooling_yield *y)
{
    double most = 0.0, sd = PL_INF;
    for (size_t i = 0; i < y->n; i++) {
        most = fmax(most, fabs(y->at[i].mean));
        if (y->at[i].sd > 0.0)
            sd = fmin(sd, y->at[i].sd);
    }
    double digits = isfinite(sd) && most > 0.0 ? ceil(log10(most / sd)) + 2.0 : 6.0;
    return (int)fmin(fmax(digits, 3.0), 6.0);
}

static void note_table(struct cooling *c, const struct cooling_measure *m)
{
    const struct cooling_yield *y = &m->yield;
    struct data_table *t = finding_table(
        c->f, arena_printf(c->a, "%s-limits", m->name),
        arena_printf(c->a, "%s: shares inside the limits (%s)%s", m->words, cooling_limits(c, m),
                     m->n_columns > 1 ? ", the cavity that comes off worst" : ""),
        8, y->n);
    const struct data_column head[8] = {
        {cooling_axis(c), DIM_TIME, NULL, false, 0, 0},
        {"shots", DIM_COUNT, NULL, false, 0, 0},
        {"cavity", DIM_COUNT, NULL, false, 0, 0},
        {"mean", m->dimension, NULL, false, digits_of_means(y), 0},
        {"scatter of a part (sd)", m->dimension, NULL, false, 3, 0},
        {"sd to the nearer limit", DIM_COUNT, NULL, false, 3, 0},
        {"sd needed (k)", DIM_COUNT, NULL, false, 3, 0},
        {"share inside, at least", DIM_RATIO, NULL, false, 5, 0},
    };
    for (size_t i = 0; i < 8; i++)
        t->columns[i] = head[i];
    for (size_t i = 0; i < y->n; i++) {
        const struct cooling_share *s = &y->at[i];
        const double v[8] = {s->x,    (double)s->n, s->cavity > 0 ? s->cavity : PL_NAN,
                             s->mean, s->sd,        s->nearest,
                             s->k,    s->share_low};
        for (size_t j = 0; j < 8; j++)
            t->values[i * 8 + j] = v[j];
        if (s->share_low > SHARE_MOST)
            t->texts[i * 8 + 7] = "above 99.99";
    }
}

void cooling_note_yield(struct cooling *c, struct cooling_measure *m)
{
    const struct cooling_yield *y = &m->yield;
    const struct fact *fact = facts_find(&c->trial->facts, "criteria", "cooling_yield");
    struct criterion *k = finding_criterion(c->f, "cooling_yield");
    k->title = arena_printf(c->a, "parts with %s inside its limits", m->words);
    k->dimension = DIM_RATIO;
    k->limit_wording = arena_printf(c->a, "%s of the parts inside the limits, %s",
                                    cooling_share_text(c, c->yield), cooling_limits(c, m));
    k->limit = c->yield;
    k->origin = fact != NULL && fact->given ? 'G' : 'C';
    k->sides = 1;
    k->verdict = cooling_limit_of(c, m, "cooling_yield")->verdict;
    k->because = sentence_of(c, m);
    if (!y->known) {
        k->shots_to_decide = SHOTS_NOT_KNOWN;
        return;
    }
    const struct cooling_share *s = &y->at[y->reference];
    k->value = s->share;
    bool missed = s->verdict == VERDICT_NOT_MET; /* one bound, on the side that decides */
    k->low = missed ? -PL_INF : s->share_low;
    k->high = missed ? s->share_high : PL_INF;
    k->level = c->confidence;
    if (k->verdict == VERDICT_NOT_SHOWN)
        k->shots_to_decide = s->verdict == VERDICT_NOT_SHOWN ? y->shots_to_decide
                             : c->hold_from == NULL          ? 0
                                                             : -1;
    note_table(c, m);
}
