/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What further shots would give: follow-ups are drawn, added to the data and analyzed. */
#include <math.h>

#include "math/plateau_internal.h"

#define DRAWS 60
#define DRAWS_REFITTED 12 /* where every follow-up has to be fitted from the start */
#define PARAMETERS 5
#define SCATTER_DRAWN 1000 /* dimension of the draws: above those of the settings */

/* ---- a family, ready for further blocks -------------------------------------------------------
 */

/* Everything to first order around the fit: further blocks move the parameters by their weighted
 * residuals, and the interval with the answer; it narrows as the answer's standard error does. */
struct ahead_family {
    double cov[PARAMETERS][PARAMETERS]; /* over the variance of a row */
    double g[PARAMETERS];               /* of the answer by the parameters */
    double var, room, answer;           /* now: g' cov g; what the criterion allows */
    double low, high;                   /* reach of the interval from the answer */
};

struct ahead {
    struct arena *a;
    const struct math_blocks *b;
    const struct plateau_options *o;
    const struct plateau_answer *r;
    const struct plateau_plan *plan;
    struct ahead_family family[FAMILY_N];
    double shot, block; /* variances */
    double mean,
        dof;      /* variance of a condition's mean around the curve, times its shots; 0: none */
    double widen; /* of the curve's standard error, where conditions scatter */
    double x0;
    double t[2][6]; /* quantiles; the same for all follow-ups of a plan */
};

/* g' cov g */
static double variance_of_answer(const struct ahead_family *t)
{
    double sum = 0.0;
    for (size_t i = 0; i < PARAMETERS; i++)
        for (size_t j = 0; j < PARAMETERS; j++)
            sum += t->g[i] * t->cov[i][j] * t->g[j];
    return sum;
}

static void prepare_family(const struct ahead *s, const struct fit_frame *k, enum family_id id,
                           struct ahead_family *out)
{
    const struct family_fit *f = &s->r->family[id];
    double row = f->residual_sd * f->residual_sd;
    *out = (struct ahead_family){.answer = f->answer};
    for (size_t i = 0; i < f->p; i++)
        for (size_t j = 0; j < f->p; j++)
            out->cov[i][j] = row > 0.0 ? f->covariance[i][j] / row : 0.0;
    if (!f->plateau)
        return;
    plateau_answer_gradient(f, s->r->tolerance, s->x0, out->g);
    out->var = variance_of_answer(out);
    out->room = plateau_room(k, f, s->o->confidence);
    out->low = out->high = sqrt(fmax(0.0, out->var * out->room));
    if (f->in_play) {
        out->low = isnan(f->answer_low) ? out->low : f->answer - f->answer_low;
        out->high = isnan(f->answer_high) ? out->high : f->answer_high - f->answer;
    }
}

static bool prepare(struct ahead *s)
{
    struct fit_frame k;
    s->x0 = s->b->group_x[0];
    s->widen = 1.0;
    if (isnan(s->r->shot_sd) || s->b->n_groups < 2)
        return false;
    s->shot = s->r->shot_sd * s->r->shot_sd;
    s->block = isnan(s->r->block_sd) ? 0.0 : s->r->block_sd * s->r->block_sd;
    plateau_frame(s->a, s->b, s->o, &k);
    for (enum family_id id = FAMILY_CONSTANT; id < FAMILY_N; id++)
        if (s->r->family[id].tried)
            prepare_family(s, &k, id, &s->family[id]);
    if (s->r->best >= 0) {
        const struct family_fit *f = &s->r->family[s->r->best];
        double rows = f->rss / ((double)s->b->n_rows - (double)f->p);
        s->dof = (double)s->b->n_blocks - (double)f->p;
        s->mean = f->rss_means / s->dof;
        if (rows > 0.0 && s->mean > rows)
            s->widen = sqrt(s->mean / rows);
    }
    return true;
}

/* ---- what the next shots may weigh ------------------------------------------------------------
 */

static bool may_draw(const struct plateau_answer *r, const struct family_fit *f)
{
    bool curves = r->best >= 0 || r->state == PLATEAU_BEFORE_FIRST;
    return curves && f->tried && f->in_play && (f->plateau || !r->shape_shown);
}

/* The family at this quantile of their weights, or NULL. */
static const struct family_fit *family_at(const struct plateau_answer *r, double u)
{
    double sum = 0.0, so_far = 0.0;
    const struct family_fit *last = NULL;
    for (int id = 0; id < FAMILY_N; id++)
        if (may_draw(r, &r->family[id]))
            sum += r->family[id].weight;
    for (int id = 0; id < FAMILY_N; id++) {
        if (!may_draw(r, &r->family[id]))
            continue;
        last = &r->family[id];
        so_far += last->weight / sum;
        if (so_far >= u)
            break;
    }
    return last;
}

/* Without a curve: what was run there, as far as its mean is known; else between the neighbours,
 * since the rise is one way. */
static double without_curve(const struct ahead *s, double x, double u, double z)
{
    const struct math_blocks *b = s->b;
    size_t g = 0;
    while (g < b->n_groups && b->group_x[g] < x)
        g++;
    if (g < b->n_groups && b->group_x[g] == x)
        return b->group_mean[g] + z * sqrt(s->block + s->shot / (double)b->group_n[g]);
    if (g == 0 || g == b->n_groups)
        return PL_NAN;
    return b->group_mean[g - 1] + u * (b->group_mean[g] - b->group_mean[g - 1]);
}

/* How conditions scatter is known from few of them: drawn as well, from what their means say. */
static double block_variance(const struct ahead *s, size_t i, size_t draws)
{
    if (!(s->dof > 0.0) || !(s->mean > 0.0))
        return s->block;
    double scale = math_even_scale(i, SCATTER_DRAWN, draws, s->dof);
    double n0 = (double)s->b->n_rows / (double)s->b->n_blocks;
    return fmax(0.0, (scale * scale * s->mean - s->shot) / n0);
}

static void draw(const struct ahead *s, size_t i, size_t draws, struct math_block *out)
{
    const struct family_fit *f = family_at(s->r, math_even_point(i, 1, draws));
    double off_curve = math_even_normal(i, 2, draws) * s->widen;
    double block = block_variance(s, i, draws);
    for (size_t j = 0; j < s->plan->n; j++) {
        double x = s->plan->at[j], n = (double)s->plan->shots;
        double z = math_even_normal(i, j == 0 ? 0 : 2 * j + 1, draws);
        double mean = f != NULL
                          ? family_value(f, x, s->x0) + off_curve * family_value_se(f, x, s->x0)
                          : without_curve(s, x, math_even_point(i, 2 * j + 4, draws),
                                          math_even_normal(i, 2 * j + 4, draws));
        mean += z * sqrt(block + s->shot / n);
        out[j] = (struct math_block){
            .x = x, .n = (size_t)s->plan->shots, .mean = mean, .ss = (n - 1.0) * s->shot};
    }
}

/* ---- with the further blocks ------------------------------------------------------------------
 */

/* One further block: moves the parameters by `moved`, and shrinks the covariance. Returns what it
 * adds to the residual sum. */
static double add_block(struct ahead_family *t, const struct family_fit *f, double x0,
                        const struct math_block *b, double moved[PARAMETERS])
{
    double d[PARAMETERS], cd[PARAMETERS], off = b->mean - family_value(f, b->x, x0);
    family_gradient(f, b->x, x0, d);
    for (size_t i = 0; i < PARAMETERS; i++) {
        off -= d[i] * moved[i];
        cd[i] = 0.0;
        for (size_t j = 0; j < PARAMETERS; j++)
            cd[i] += t->cov[i][j] * d[j];
    }
    double h = 0.0;
    for (size_t i = 0; i < PARAMETERS; i++)
        h += d[i] * cd[i];
    double gain = 1.0 / (1.0 / (double)b->n + h);
    for (size_t i = 0; i < PARAMETERS; i++) {
        moved[i] += gain * off * cd[i];
        for (size_t j = 0; j < PARAMETERS; j++)
            t->cov[i][j] -= gain * cd[i] * cd[j];
    }
    return gain * off * off;
}

static double at_most(const struct math_blocks *b, double x)
{
    return x > b->group_x[b->n_groups - 1] ? PL_INF : x;
}

static double at_least(const struct math_blocks *b, double x)
{
    return x < b->group_x[0] ? -PL_INF : x;
}

static void update_family(const struct ahead *s, struct fit_frame *k, enum family_id id,
                          const struct math_block *more, struct family_fit *f)
{
    const struct family_fit *before = &s->r->family[id];
    struct ahead_family t = s->family[id];
    double moved[PARAMETERS] = {0.0}, sum = f->rss_means;
    for (size_t j = 0; j < s->plan->n; j++)
        sum += add_block(&t, before, s->x0, &more[j], moved);
    plateau_note_sums(k, f, sum);
    k->inner[id].s0 = sum / (k->y_scale * k->y_scale);
    if (!f->plateau)
        return;
    double var = variance_of_answer(&t), room = plateau_room(k, f, s->o->confidence), answer;
    double narrower =
        t.var > 0.0 && t.room > 0.0 ? sqrt(fmax(0.0, var / t.var) * room / t.room) : 1.0;
    answer = t.answer;
    for (size_t i = 0; i < PARAMETERS; i++)
        answer += t.g[i] * moved[i];
    f->answer = answer;
    f->answer_low = at_least(k->blocks, answer - narrower * t.low);
    f->answer_high = at_most(k->blocks, answer + narrower * t.high);
    f->level += moved[0];
}

static void analyze_ahead(struct ahead *s, struct arena *a, const struct math_blocks *then,
                          const struct math_block *more, struct plateau_answer *out)
{
    struct fit_frame k;
    *out = (struct plateau_answer){.best = -1};
    plateau_frame(a, then, s->o, &k);
    k.t = s->t;
    for (enum family_id id = FAMILY_CONSTANT; id < FAMILY_N; id++) {
        out->family[id] = s->r->family[id];
        if (out->family[id].tried)
            update_family(s, &k, id, more, &out->family[id]);
    }
    plateau_conclude(&k, s->o, false, out);
}

/* ---- follow-ups -------------------------------------------------------------------------------
 */

static double half_width(const struct plateau_answer *r)
{
    double half = (r->high - r->low) / 2.0;
    return isfinite(r->bound) && isfinite(half) ? half : PL_INF;
}

/* A verdict that counts. */
static bool is_decided(const struct plateau_answer *r)
{
    if (r->state == PLATEAU_NOT_REACHED)
        return r->verdict < 0;
    return isfinite(r->bound) && r->verdict > 0;
}

static bool more_become_possible(const struct ahead *s, const struct math_blocks *then)
{
    for (int id = 0; id < FAMILY_N; id++)
        if (!plateau_enough(s->b, s->r->family[id].p) && plateau_enough(then, s->r->family[id].p))
            return true;
    return false;
}

/* False where nothing comes of it. */
static bool follow(struct ahead *s, struct arena *a, size_t i, struct plateau_answer *out,
                   size_t *draws)
{
    struct math_block *more = ARENA_ARRAY(a, struct math_block, s->plan->n);
    struct math_blocks then;
    struct error e = {.code = ERR_NONE};
    draw(s, i, *draws, more);
    math_blocks_add(a, s->b, more, s->plan->n, &then);
    if (i == 0 && more_become_possible(s, &then)) {
        *draws = DRAWS_REFITTED;
        draw(s, i, *draws, more);
        math_blocks_add(a, s->b, more, s->plan->n, &then);
    }
    if (*draws == DRAWS_REFITTED)
        return plateau_find(a, &then, s->o, out, &e) == ERR_NONE;
    for (size_t j = 0; j < s->plan->n; j++)
        if (!isfinite(more[j].mean))
            return false;
    analyze_ahead(s, a, &then, more, out);
    return true;
}

void plateau_forecast(const struct math_blocks *blocks, const struct plateau_options *options,
                      const struct plateau_answer *answer, const struct plateau_plan *plan,
                      struct plateau_forecast *out)
{
    struct arena *a = arena_new();
    struct ahead s = {.a = a, .b = blocks, .o = options, .r = answer, .plan = plan};
    *out = (struct plateau_forecast){PL_NAN, PL_NAN};
    if (plan->n > 0 && plan->shots > 0 && prepare(&s)) {
        double half[DRAWS], decided = 0.0;
        size_t draws = DRAWS;
        struct arena_mark mark = arena_mark(a);
        for (size_t i = 0; i < draws; i++) {
            struct plateau_answer r;
            bool fine = follow(&s, a, i, &r, &draws);
            half[i] = fine ? half_width(&r) : PL_INF;
            decided += fine && is_decided(&r);
            arena_reset(a, mark);
        }
        /* without a curve, or with new ones, a new setting may bring anything */
        if (answer->best >= 0 && draws == DRAWS)
            out->half_width = math_promise(half, draws);
        out->decided = decided / (double)draws;
    }
    arena_free(a);
}

int plateau_shots_to_decide(const struct math_blocks *blocks, const struct plateau_options *options,
                            const struct plateau_answer *answer, const double *at, size_t n)
{
    for (size_t i = 0; math_shots(i) > 0; i++) {
        struct plateau_plan plan = {at, n, math_shots(i)};
        struct plateau_forecast f;
        plateau_forecast(blocks, options, answer, &plan, &f);
        if (f.decided >= MATH_DECIDED)
            return plan.shots;
    }
    return -1;
}

int plateau_flat_end_shots(const struct math_blocks *blocks, const struct plateau_options *options,
                           const struct plateau_answer *answer)
{
    const double at[] = {blocks->group_x[answer->rise_from], blocks->group_x[blocks->n_groups - 1]};
    return plateau_shots_to_decide(blocks, options, answer, at, PL_COUNT(at));
}
