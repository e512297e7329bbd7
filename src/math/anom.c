/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Analysis of means: the largest of k equicorrelated Student's t, and the decision it gives. */
#include <math.h>

#include <gsl/gsl_math.h>

#include "math/math_internal.h"
#include "math/range_internal.h"

#define BEYOND 9.6      /* a deviation of a standard normal from its mean: 1e-20 */
#define PRECISION 1e-11 /* absolute, of a probability */
#define NODES_MOST 1024

/* Density of the sum of two standard normals, both cut off at +-c, at x >= 0. */
static double pair_density(double x, double c)
{
    return x < 2.0 * c ? M_SQRT1_2 * range_phi(M_SQRT1_2 * x) * erf(c - 0.5 * x) : 0.0;
}

static double three_or_four(double c, size_t k, const struct gauss *g)
{
    double end = k == 3 ? fmin(c, 9.0) : fmin(2.0 * c, 12.0), sum = 0.0;
    size_t panels = (size_t)ceil(end);
    for (size_t i = 0; i < panels; i++) {
        double h = 0.5 * end / (double)panels, middle = h * (double)(2 * i + 1);
        for (size_t j = 0; j < GAUSS_POINTS; j++) {
            double x = middle + h * g->x[j], pair = pair_density(x, c);
            sum += h * g->w[j] * pair * (k == 3 ? range_phi(x) : pair);
        }
    }
    return 2.0 * sqrt(2.0 * M_PI * (double)k) * sum;
}

/* Where psi(t)^k has become negligible. psi(t) is exp(-t^2 / 2) and, from the cut, 2 phi(c)
 * sin(ct) / t; what the sine leaves out cancels over a period when k is odd. */
static double last_frequency(double c, size_t k)
{
    double n = (double)k, cut = n * log(2.0 * range_phi(c)) + log(sqrt(0.5 * n / M_PI) / PRECISION);
    double far =
        k % 2 == 1 ? exp((cut + log(2.0 * M_PI / c)) / n) : exp((cut - log(n - 1.0)) / (n - 1.0));
    return fmax(far, 9.5 / sqrt(n - 1.0));
}

/* int_0^c phi(x) cos(n step x) dx for n = 0, 1, 2, ... at fixed nodes, the cosine by its
 * recurrence. */
struct cosines {
    size_t n;
    double weight[NODES_MOST], twice[NODES_MOST], now[NODES_MOST], before[NODES_MOST];
};

static void cosines_init(struct cosines *s, double c, double step, size_t panels,
                         const struct gauss *g)
{
    s->n = 0;
    for (size_t i = 0; i < panels; i++) {
        double h = 0.5 * c / (double)panels, middle = h * (double)(2 * i + 1);
        for (size_t j = 0; j < GAUSS_POINTS; j++, s->n++) {
            double x = middle + h * g->x[j];
            s->weight[s->n] = h * g->w[j] * range_phi(x);
            s->twice[s->n] = 2.0 * cos(step * x);
            s->now[s->n] = 1.0;
            s->before[s->n] = 0.5 * s->twice[s->n];
        }
    }
}

static double cosines_next(struct cosines *s)
{
    double sum = 0.0;
    for (size_t i = 0; i < s->n; i++) {
        sum += s->weight[i] * s->now[i];
        double next = s->twice[i] * s->now[i] - s->before[i];
        s->before[i] = s->now[i];
        s->now[i] = next;
    }
    return 2.0 * sum;
}

/* f(0) of the sum as a Fourier series: its period must not be shorter than the reach of the sum on
 * one side, which is k c, or what k normals do not leave. */
static double five_or_more(double c, size_t k, const struct gauss *g)
{
    double period = fmin(1.001 * (double)k * c, 9.2 * sqrt((double)k));
    double step = 2.0 * M_PI / period, last = last_frequency(c, k);
    size_t most = NODES_MOST / GAUSS_POINTS;
    size_t panels = (size_t)fmin((double)most, 1.0 + floor(fmax(c * last / 8.0, c / 2.0)));
    struct cosines s;
    cosines_init(&s, c, step, panels, g);
    double sum = range_power(cosines_next(&s), k);
    size_t terms = (size_t)ceil(last / step);
    for (size_t i = 0; i < terms; i++)
        sum += 2.0 * range_power(cosines_next(&s), k);
    return sqrt(0.5 * (double)k / M_PI) * step * sum;
}

/* P(max |X_i - mean X| sqrt(k / (k-1)) <= h) */
static double largest_deviation(double h, size_t k, const struct gauss *g)
{
    double c = h * sqrt(1.0 - 1.0 / (double)k);
    if (!(h > 1e-6))
        return 0.0;
    if (k == 2)
        return erf(M_SQRT1_2 * h);
    double p = k <= 4 ? three_or_four(c, k, g) : five_or_more(c, k, g);
    return fmin(1.0, fmax(0.0, p));
}

static struct normal_cdf largest_of(size_t k)
{
    return (struct normal_cdf){largest_deviation, k, BEYOND};
}

double math_anom_cdf(double h, size_t k, double nu)
{
    struct normal_cdf f = largest_of(k);
    return studentized_cdf(&f, h, nu);
}

double math_anom_quantile(double p, size_t k, double nu)
{
    struct normal_cdf f = largest_of(k);
    return studentized_quantile(&f, p, nu);
}

void math_anom(struct arena *a, const double *mean, size_t k, size_t n, double s, double nu,
               double level, struct anom *out)
{
    *out = (struct anom){
        .h = math_anom_quantile(level, k, nu), .half_width = PL_NAN, .overall = mean[0]};
    out->side = ARENA_ARRAY(a, int, k);
    double sum = 0.0;
    for (size_t i = 0; i < k; i++)
        sum += mean[i] - mean[0];
    out->overall += sum / (double)k;
    if (!isfinite(out->h) || !(s >= 0.0))
        return;
    out->half_width = out->h * s * sqrt(((double)k - 1.0) / ((double)k * (double)n));
    for (size_t i = 0; i < k; i++) {
        double off = mean[i] - out->overall;
        out->side[i] = fabs(off) <= out->half_width ? 0 : off > 0.0 ? 1 : -1;
        out->n_outside += out->side[i] != 0;
    }
}
