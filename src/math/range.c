/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Studentized range: the distribution for a known standard deviation by Gauss-Legendre panels, then
 * one integral over the density of the estimated one. */
#include <math.h>

#include <gsl/gsl_integration.h>
#include <gsl/gsl_math.h>
#include <gsl/gsl_sf_gamma.h>

#include "math/math_internal.h"
#include "math/range_internal.h"

#define NEGLIGIBLE 8.6  /* standard normals beyond it: 1e-17 */
#define AS_INFINITE 1e9 /* degrees of freedom: quantiles change by 1e-9 of themselves */
#define PIECES 24
#define NODES 20 /* Chebyshev nodes of a piece */

bool gauss_fill(struct gauss *g)
{
    math_quiet();
    gsl_integration_glfixed_table *t = gsl_integration_glfixed_table_alloc(GAUSS_POINTS);
    bool ok = t != NULL;
    for (size_t i = 0; ok && i < GAUSS_POINTS; i++)
        ok = gsl_integration_glfixed_point(-1.0, 1.0, i, &g->x[i], &g->w[i], t) == 0;
    if (t != NULL)
        gsl_integration_glfixed_table_free(t);
    return ok;
}

double range_power(double x, size_t n)
{
    double r = 1.0;
    for (; n > 0; n /= 2, x *= x)
        if (n % 2 == 1)
            r *= x;
    return r;
}

double range_phi(double x)
{
    return 0.3989422804014326779 * exp(-0.5 * x * x);
}

static double normal_cdf(double x)
{
    return 0.5 * erfc(-0.7071067811865475244 * x);
}

/* ---- range of standard normals ----------------------------------------------------------------
 */

static double range_of_normals(double w, size_t k, const struct gauss *g)
{
    double half = 0.5 * w, sum = 0.0;
    if (!(w > 0.0))
        return 0.0;
    double width = NEGLIGIBLE - half;
    size_t panels = width > 0.0 ? (size_t)ceil(width) : 0;
    for (size_t i = 0; i < panels; i++) {
        double h = 0.5 * width / (double)panels, middle = half + h * (double)(2 * i + 1);
        for (size_t j = 0; j < GAUSS_POINTS; j++) {
            double u = middle + h * g->x[j];
            double inside = normal_cdf(u) - normal_cdf(u - w);
            sum += h * g->w[j] * range_phi(u) * range_power(inside, k - 1);
        }
    }
    double both = erf(0.7071067811865475244 * half); /* 2 Phi(w/2) - 1 */
    return fmin(1.0, range_power(both, k) + 2.0 * (double)k * sum);
}

/* ---- division by s ------------------------------------------------------------------------------
 */

/* The normal statistic's distribution as Chebyshev pieces, made where it is asked for. */
struct pieces {
    const struct normal_cdf *f;
    const struct gauss *gauss;
    double width;
    bool filled[PIECES];
    double coefficient[PIECES][NODES];
};

static void fill_piece(struct pieces *p, size_t piece)
{
    double at[NODES];
    for (size_t i = 0; i < NODES; i++) {
        double u = cos(M_PI * ((double)i + 0.5) / NODES);
        double w = p->width * ((double)piece + 0.5 * (u + 1.0));
        at[i] = p->f->value(w, p->f->k, p->gauss);
    }
    for (size_t j = 0; j < NODES; j++) {
        double sum = 0.0;
        for (size_t i = 0; i < NODES; i++)
            sum += at[i] * cos(M_PI * (double)j * ((double)i + 0.5) / NODES);
        p->coefficient[piece][j] = (j == 0 ? 1.0 : 2.0) / NODES * sum;
    }
    p->filled[piece] = true;
}

static double piece_value(struct pieces *p, double w)
{
    double at = w / p->width;
    size_t piece = at < PIECES ? (size_t)at : PIECES - 1;
    if (w >= p->f->end)
        return 1.0;
    if (!p->filled[piece])
        fill_piece(p, piece);
    const double *c = p->coefficient[piece];
    double u = 2.0 * (at - (double)piece) - 1.0, b1 = 0.0, b2 = 0.0;
    for (size_t j = NODES; j-- > 1;) { /* Clenshaw */
        double b = 2.0 * u * b1 - b2 + c[j];
        b2 = b1;
        b1 = b;
    }
    return u * b1 - b2 + c[0];
}

/* Logarithm of the density of s without its constant, and the constant: written around s = 1, so
 * that many degrees of freedom cancel nothing. */
static double log_density(double d, double nu)
{
    return (nu - 1.0) * log1p(d) - nu * (d + 0.5 * d * d);
}

static double log_constant(double nu)
{
    double z = 0.5 * nu;
    return log(2.0) + 0.5 * log(z / (2.0 * M_PI)) - log(gsl_sf_gammastar(z));
}

/* P(statistic / s > q) */
static double studentized_tail(struct pieces *p, double q, double nu)
{
    double low = fmax(0.0, (sqrt(nu - 1.0) - NEGLIGIBLE) / sqrt(nu));
    double high = fmin(1.0 + NEGLIGIBLE / sqrt(nu), p->f->end / q);
    if (!(high > low))
        return 0.0;
    double width = high - low, constant = log_constant(nu), sum = 0.0;
    double fine = fmax(width * sqrt(2.0 * nu) / 2.0, width * q / 1.0);
    size_t panels = (size_t)fmin(64.0, fmax(4.0, ceil(fine)));
    for (size_t i = 0; i < panels; i++) {
        double h = 0.5 * width / (double)panels, middle = low + h * (double)(2 * i + 1);
        for (size_t j = 0; j < GAUSS_POINTS; j++) {
            double s = middle + h * p->gauss->x[j];
            double density = exp(constant + log_density(s - 1.0, nu));
            if (density > 0.0)
                sum += h * p->gauss->w[j] * density * (1.0 - piece_value(p, q * s));
        }
    }
    return fmin(1.0, fmax(0.0, sum));
}

struct problem {
    struct pieces pieces;
    struct gauss gauss;
    double nu;
};

static bool problem_init(struct problem *x, const struct normal_cdf *f, double nu)
{
    if (!(nu >= 1.0) || f->k < 2 || !gauss_fill(&x->gauss))
        return false;
    x->pieces.f = f;
    x->pieces.gauss = &x->gauss;
    x->pieces.width = f->end / PIECES;
    for (size_t i = 0; i < PIECES; i++)
        x->pieces.filled[i] = false;
    x->nu = nu;
    return true;
}

static double tail_at(struct problem *x, double q)
{
    const struct normal_cdf *f = x->pieces.f;
    if (x->nu >= AS_INFINITE)
        return q >= f->end ? 0.0 : 1.0 - f->value(q, f->k, &x->gauss);
    return studentized_tail(&x->pieces, q, x->nu);
}

double studentized_cdf(const struct normal_cdf *f, double q, double nu)
{
    struct problem x;
    if (isnan(q) || !problem_init(&x, f, nu))
        return PL_NAN;
    return q > 0.0 ? 1.0 - tail_at(&x, q) : 0.0;
}

/* Rises with log q, without kinks. */
static double minus_log_tail(double log_q, void *context)
{
    return -log(fmax(1e-300, tail_at(context, exp(log_q))));
}

double studentized_quantile(const struct normal_cdf *f, double p, double nu)
{
    struct problem x;
    if (!(p > 0.0 && p < 1.0) || !problem_init(&x, f, nu))
        return PL_NAN;
    double level = -log1p(-p), low = log(2.0), high = log(4.0);
    while (minus_log_tail(low, &x) > level && low > -40.0) {
        high = low;
        low -= 0.7;
    }
    while (!(minus_log_tail(high, &x) > level) && high < 40.0) {
        low = high;
        high += 0.7;
    }
    return exp(math_root(minus_log_tail, &x, level, low, high));
}

/* ---- studentized range ------------------------------------------------------------------------
 */

static struct normal_cdf range_of(size_t k)
{
    return (struct normal_cdf){range_of_normals, k, 2.0 * NEGLIGIBLE};
}

double math_range_cdf(double q, size_t k, double nu)
{
    struct normal_cdf f = range_of(k);
    return studentized_cdf(&f, q, nu);
}

double math_range_quantile(double p, size_t k, double nu)
{
    struct normal_cdf f = range_of(k);
    return studentized_quantile(&f, p, nu);
}
