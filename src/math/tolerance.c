/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One-sided tolerance factors by the noncentral t distribution. */
#include <math.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_math.h>
#include <gsl/gsl_sf_gamma.h>

#include "math/math_internal.h"
#include "math/range_internal.h"
#include "plateau/math_cooling.h"

#define NEGLIGIBLE 8.6 /* standard normals beyond it: 1e-17 */
#define MOST_PANELS 4096.0
#define MOST_DOUBLINGS 60

double math_normal_share(double z)
{
    return 0.5 * erfc(-z * M_SQRT1_2);
}

double math_normal_quantile(double p)
{
    math_quiet();
    return p > 0.0 && p < 1.0 ? gsl_cdf_ugaussian_Pinv(p) : PL_NAN;
}

/* ---- noncentral t ------------------------------------------------------------------------------
 */

struct noncentral {
    struct gauss gauss;
    double nu, log_constant;
    double t, delta; /* the one that is not searched for */
};

static bool noncentral_init(struct noncentral *x, double nu)
{
    if (!(nu >= 1.0) || !isfinite(nu) || !gauss_fill(&x->gauss))
        return false;
    double z = 0.5 * nu;
    x->nu = nu;
    x->log_constant = log(2.0) + 0.5 * log(z / (2.0 * M_PI)) - log(gsl_sf_gammastar(z));
    return true;
}

/* Density of s = sqrt(chi^2 / nu), written around s = 1 so that many degrees of freedom cancel
 * nothing. */
static double density(const struct noncentral *x, double s)
{
    double d = s - 1.0;
    return exp(x->log_constant + (x->nu - 1.0) * log1p(d) - x->nu * (d + 0.5 * d * d));
}

static double cdf(const struct noncentral *x, double t, double delta)
{
    double root = sqrt(x->nu), low = fmax(0.0, (sqrt(x->nu - 1.0) - NEGLIGIBLE) / root);
    double high = 1.0 + NEGLIGIBLE / root, sum = 0.0;
    double width = high - low, fine = width * fmax(root, fabs(t));
    double panels = fmin(MOST_PANELS, fmax(8.0, ceil(fine / 1.5)));
    double h = 0.5 * width / panels;
    for (size_t i = 0; i < (size_t)panels; i++) {
        double middle = low + h * (2.0 * (double)i + 1.0);
        for (size_t j = 0; j < GAUSS_POINTS; j++) {
            double s = middle + h * x->gauss.x[j];
            double inside = math_normal_share(t * s - delta);
            if (inside > 0.0)
                sum += h * x->gauss.w[j] * density(x, s) * inside;
        }
    }
    return fmin(1.0, sum);
}

double math_noncentral_t_cdf(double t, double nu, double delta)
{
    struct noncentral x;
    math_quiet();
    if (isnan(t) || isnan(delta) || !noncentral_init(&x, nu))
        return PL_NAN;
    return cdf(&x, t, delta);
}

static double by_t(double t, void *context)
{
    const struct noncentral *x = context;
    return cdf(x, t, x->delta);
}

/* Falls with delta; so its complement rises. */
static double by_delta(double delta, void *context)
{
    const struct noncentral *x = context;
    return 1.0 - cdf(x, x->t, delta);
}

/* Root of a rising function, the bracket widened from `near`. */
static double search(double (*fn)(double u, void *context), struct noncentral *x, double level,
                     double near, double step)
{
    double low = near - step, high = near + step;
    for (int i = 0; i < MOST_DOUBLINGS && fn(low, x) >= level; i++, step *= 2.0) {
        high = low;
        low -= step;
    }
    for (int i = 0; i < MOST_DOUBLINGS && fn(high, x) < level; i++, step *= 2.0) {
        low = high;
        high += step;
    }
    return math_root(fn, x, level, low, high);
}

double math_noncentral_t_quantile(double p, double nu, double delta)
{
    struct noncentral x;
    math_quiet();
    if (!(p > 0.0 && p < 1.0) || !isfinite(delta) || !noncentral_init(&x, nu))
        return PL_NAN;
    x.delta = delta;
    return search(by_t, &x, p, delta, 1.0 + fabs(delta) / sqrt(2.0 * nu));
}

/* ---- shares of parts ---------------------------------------------------------------------------
 */

double math_tolerance_factor(double p, double confidence, double n, double nu)
{
    if (!(n > 0.0) || !(p > 0.0 && p < 1.0))
        return PL_NAN;
    double root = sqrt(n);
    return math_noncentral_t_quantile(confidence, nu, math_normal_quantile(p) * root) / root;
}

double math_share_bound(double d, double confidence, double n, double nu)
{
    struct noncentral x;
    math_quiet();
    if (!(n > 0.0) || !(confidence > 0.0 && confidence < 1.0) || !isfinite(d) ||
        !noncentral_init(&x, nu))
        return PL_NAN;
    double root = sqrt(n);
    x.t = d * root;
    double delta = search(by_delta, &x, 1.0 - confidence, x.t, 1.0 + fabs(x.t) / sqrt(2.0 * nu));
    return math_normal_share(delta / root);
}
