/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which further shots would settle most. */
#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>

#include "math/plateau_internal.h"

#define MOST_CANDIDATES 400
#define NARROWS_WELL 0.8 /* enough to look no further */

static double to_step(double x, double step)
{
    return step > 0.0 ? round(x / step) * step : x;
}

static double last_gap(const struct math_blocks *b)
{
    size_t g = b->n_groups;
    return g < 2 ? b->group_x[g - 1] : b->group_x[g - 1] - b->group_x[g - 2];
}

static void extend(const struct math_blocks *b, double step, int shots, struct plateau_next *out)
{
    double gap = fmax(last_gap(b), step), last = b->group_x[b->n_groups - 1];
    *out = (struct plateau_next){NEXT_EXTEND, 3, {0.0}, shots, PL_NAN, PL_NAN};
    for (size_t i = 0; i < 3; i++)
        out->at[i] = to_step(last + gap * (double)(i + 1), step);
}

/* ---- c-optimal step
 * ------------------------------------------------------------------------------- */

void plateau_answer_gradient(const struct family_fit *f, double tolerance, double x_first,
                             double *d)
{
    const struct family *form = family_of(f->id);
    d[0] = 0.0;
    for (size_t k = 1; k < f->p; k++) {
        double v[5] = {0.0}, at[2];
        for (size_t i = 0; i < f->p; i++)
            v[i] = f->value[i];
        double h = 1e-5 * fabs(v[k]);
        for (size_t side = 0; side < 2; side++) {
            v[k] = f->value[k] + (side == 0 ? h : -h);
            at[side] = form->inverse(tolerance / fabs(v[1]), v + 2, x_first);
        }
        d[k] = h > 0.0 ? (at[0] - at[1]) / (2.0 * h) : 0.0;
    }
}

static void add_block(gsl_matrix *m, const double *d, double weight)
{
    for (size_t i = 0; i < m->size1; i++)
        for (size_t j = 0; j < m->size1; j++)
            gsl_matrix_set(m, i, j, gsl_matrix_get(m, i, j) + weight * d[i] * d[j]);
}

/* g' M^-1 g, or NAN. */
static double quadratic_form(const gsl_matrix *m, const double *g)
{
    size_t p = m->size1;
    gsl_matrix *c = gsl_matrix_alloc(p, p);
    gsl_vector *x = gsl_vector_alloc(p);
    double sum = NAN;
    if (c != NULL && x != NULL) {
        gsl_matrix_memcpy(c, m);
        for (size_t i = 0; i < p; i++)
            gsl_vector_set(x, i, g[i]);
        if (gsl_linalg_cholesky_decomp1(c) == GSL_SUCCESS &&
            gsl_linalg_cholesky_svx(c, x) == GSL_SUCCESS) {
            sum = 0.0;
            for (size_t i = 0; i < p; i++)
                sum += g[i] * gsl_vector_get(x, i);
        }
    }
    gsl_vector_free(x);
    gsl_matrix_free(c);
    return sum;
}

static bool optimal(const struct math_blocks *b, const struct plateau_answer *a, double step,
                    int shots, struct plateau_next *out)
{
    const struct family_fit *f = &a->family[a->best];
    double block = isnan(a->block_sd) ? 0.0 : a->block_sd * a->block_sd;
    double shot = isnan(a->shot_sd) ? f->residual_sd * f->residual_sd : a->shot_sd * a->shot_sd;
    double x0 = b->group_x[0], range = b->group_x[b->n_groups - 1] - x0;
    double d[5] = {0.0}, g[5] = {0.0};
    gsl_matrix *m = gsl_matrix_calloc(f->p, f->p), *more = gsl_matrix_alloc(f->p, f->p);
    bool found = false;
    *out = (struct plateau_next){.kind = NEXT_OPTIMAL, .n = 1};
    if (m != NULL && more != NULL && shot > 0.0) {
        for (size_t i = 0; i < b->n_blocks; i++) {
            family_gradient(f, b->b[i].x, x0, d);
            add_block(m, d, 1.0 / (block + shot / (double)b->b[i].n));
        }
        plateau_answer_gradient(f, a->tolerance, x0, g);
        double least = quadratic_form(m, g);
        double each = fmax(step, range / MOST_CANDIDATES);
        size_t candidates = each > 0.0 ? (size_t)(range / each + 1e-9) : 0;
        for (size_t i = 0; i <= candidates; i++) {
            double at = to_step(x0 + each * (double)i, step);
            gsl_matrix_memcpy(more, m);
            family_gradient(f, at, x0, d);
            add_block(more, d, 1.0 / (block + shot / (double)shots));
            double then = quadratic_form(more, g);
            if (then < least * (1.0 - 1e-9)) {
                least = then;
                out->at[0] = at;
                found = true;
            }
        }
    }
    gsl_matrix_free(more);
    gsl_matrix_free(m);
    return found;
}

static size_t group_below(const struct math_blocks *b, double x)
{
    size_t g = 0;
    while (g + 1 < b->n_groups && b->group_x[g + 1] < x - 1e-9 * fabs(x))
        g++;
    return g;
}

static size_t plateau_families_in_play(const struct plateau_answer *a)
{
    size_t n = 0;
    for (int id = 0; id < FAMILY_N; id++)
        n += a->family[id].plateau && a->family[id].in_play;
    return n;
}

/* ---- requests for the interval --------------------------------------------------------------- */

static bool midway(const struct math_blocks *b, const struct plateau_answer *a, double step,
                   struct plateau_next *out)
{
    double low = b->group_x[group_below(b, a->bound)];
    double middle = to_step((low + a->bound) / 2.0, step);
    *out = (struct plateau_next){.kind = NEXT_MIDWAY, .n = 1, .at = {middle}};
    return middle > low + 0.5 * step && middle < a->bound - 0.5 * step;
}

static bool optimal_one(const struct math_blocks *b, const struct plateau_answer *a, double step,
                        int shots, struct plateau_next *out)
{
    bool smooth = a->best >= 0 && family_of((enum family_id)a->best)->smooth;
    return smooth && plateau_families_in_play(a) == 1 && optimal(b, a, step, shots, out);
}

static bool around(const struct math_blocks *b, const struct plateau_answer *a,
                   struct plateau_next *out)
{
    size_t below = group_below(b, a->bound);
    *out = (struct plateau_next){.kind = NEXT_AROUND, .n = 2};
    out->at[0] = b->group_x[below];
    out->at[1] = b->group_x[below + 1 < b->n_groups ? below + 1 : below];
    return out->at[1] > out->at[0];
}

/* The first request that is foreseen to narrow the interval well; else the one that narrows it
 * most; else the first, without a promise. */
static struct plateau_next sharpen(const struct math_blocks *b, const struct plateau_options *o,
                                   const struct plateau_answer *a, double step, int shots)
{
    struct plateau_next best = {.kind = NEXT_NONE}, p;
    double now = (a->high - a->low) / 2.0, least = PL_INF;
    bool bracket = a->high_from == END_BRACKET;
    if (bracket && !midway(b, a, step, &p)) /* as close as the press can */
        return best;
    for (int i = 0; i < 3 && !(least <= NARROWS_WELL * now); i++) {
        bool there = i == 0   ? bracket && midway(b, a, step, &p)
                     : i == 1 ? optimal_one(b, a, step, shots, &p)
                              : around(b, a, &p);
        if (!there)
            continue;
        struct plateau_plan plan = {p.at, p.n, shots};
        struct plateau_forecast f;
        plateau_forecast(b, o, a, &plan, &f);
        /* what one family alone gains is lost when others come back into play */
        bool narrows = p.kind != NEXT_OPTIMAL && f.half_width <= MATH_NARROWS * now;
        if (best.kind != NEXT_NONE && !(narrows && f.half_width < least))
            continue;
        best = p;
        best.shots = shots;
        best.half_width_now = now;
        best.half_width_then = narrows ? f.half_width : PL_NAN;
        least = narrows ? f.half_width : PL_INF;
    }
    return best;
}

static bool repeat(const struct math_blocks *b, const struct plateau_options *o,
                   const struct plateau_answer *a, struct plateau_next *out)
{
    *out = (struct plateau_next){NEXT_REPEAT, 2, {0.0}, 0, PL_NAN, PL_NAN};
    out->at[0] = b->group_x[a->rise_from];
    out->at[1] = b->group_x[b->n_groups - 1];
    if (a->verdict == 0)
        out->shots = plateau_flat_end_shots(b, o, a);
    return out->shots > 0;
}

size_t plateau_next_shots(const struct math_blocks *blocks, const struct plateau_options *options,
                          const struct plateau_answer *answer, double step, int shots,
                          struct plateau_next out[2])
{
    math_quiet();
    size_t n = 0;
    switch (answer->state) {
    case PLATEAU_NOT_REACHED:
        if (answer->rise < 0.0) /* the other way: find the cause first */
            return 0;
        extend(blocks, step, shots, &out[n++]);
        return n;
    case PLATEAU_OPEN:
    case PLATEAU_UNDECIDED:
        extend(blocks, step, shots, &out[n++]);
        return n;
    case PLATEAU_BEFORE_FIRST: {
        double half = to_step(blocks->group_x[0] / 2.0, step);
        if (half > 0.0 && half < blocks->group_x[0])
            out[n++] = (struct plateau_next){NEXT_SHORTER, 1, {half}, shots, PL_NAN, PL_NAN};
        break;
    }
    case PLATEAU_FOUND:
    case PLATEAU_BRACKET_ONLY:
        break;
    }
    n += repeat(blocks, options, answer, &out[n]);
    if (answer->state != PLATEAU_BEFORE_FIRST && n < 2) {
        out[n] = sharpen(blocks, options, answer, step, shots);
        n += out[n].kind != NEXT_NONE;
    }
    return n;
}
