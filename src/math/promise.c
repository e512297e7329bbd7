/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What may be promised of follow-ups that were drawn. */
#include <math.h>
#include <stdint.h>

#include <gsl/gsl_cdf.h>

#include "plateau/math.h"

#define MOVED 1.2 /* the promise lies at most this far from the median */

/* A counter hashed to (0, 1): splitmix64 (Steele, Lea and Flood 2014, from memory). */
static double hashed(uint64_t i, uint64_t d)
{
    uint64_t z = (i * 0x100000001B3u + d + 1) * 0x9E3779B97F4A7C15u;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    z ^= z >> 31;
    return ((double)(z >> 11) + 0.5) * 0x1p-53;
}

double math_even_point(size_t i, size_t d, size_t n)
{
    static const double step[3] = {0.0, 0.6180339887498949, 0.4142135623730950};
    if (d == 0)
        return ((double)i + 0.5) / (double)n;
    if (d >= PL_COUNT(step))
        return hashed(i, d);
    double u = ((double)i + 0.5) * step[d];
    return u - floor(u);
}

double math_even_normal(size_t i, size_t d, size_t n)
{
    return gsl_cdf_ugaussian_Pinv(fmin(fmax(math_even_point(i, d, n), 1e-6), 1.0 - 1e-6));
}

double math_even_scale(size_t i, size_t d, size_t n, double dof)
{
    double u = fmin(fmax(math_even_point(i, d, n), 1e-6), 1.0 - 1e-6);
    return sqrt(dof / gsl_cdf_chisq_Pinv(u, dof));
}

int math_shots(size_t i)
{
    static const int shots[] = {1,  2,  3,  4,  5,  6,  8,   10,  12, 15,
                                20, 25, 30, 40, 50, 75, 100, 150, 200};
    return i < PL_COUNT(shots) ? shots[i] : 0;
}

double math_promise(double *half, size_t n)
{
    if (n == 0)
        return PL_NAN;
    double middle = math_median(half, n); /* sorts */
    double most = half[(19 * n + 19) / 20 - 1];
    if (!isfinite(middle) || !isfinite(most))
        return PL_NAN;
    double promise = fmin(fmax(middle, most / MATH_PROMISE_KEPT), MOVED * middle);
    return most <= MATH_PROMISE_KEPT * promise ? promise : PL_NAN;
}

static double chance(const struct math_round *r, int shots)
{
    double p = 0.5 + r->confidence / 2.0, t_now = math_t_quantile(p, r->dof);
    double t_then = math_t_quantile(p, r->dof + r->conditions);
    double before = 1.0 / (r->condition + r->shot / r->n);
    double more = 1.0 / (r->condition + r->shot / (double)shots);
    double now = r->half / t_now, then = now * sqrt(before / (before + more));
    double moves = sqrt(now * now - then * then), half = t_then * then;
    return math_t_cdf((r->gap - half) / moves, r->dof) +
           math_t_cdf((-r->gap - half) / moves, r->dof);
}

int math_round_to_decide(const struct math_round *r)
{
    bool known = r->half > 0.0 && isfinite(r->half) && r->gap >= 0.0 && r->dof > 0.0 &&
                 r->n > 0.0 && r->shot > 0.0 && r->condition >= 0.0;
    for (size_t i = 0; known && math_shots(i) > 0; i++)
        if (chance(r, math_shots(i)) >= MATH_DECIDED)
            return math_shots(i);
    return -1;
}
