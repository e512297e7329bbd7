/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The families of curves that reach a plateau: y = P - A g(x; theta). */
#include <math.h>

#include "math/math_internal.h"

static double linear_g(double x, const double *theta, double x0, double *dg)
{
    (void)x0;
    double g = theta[0] > x ? theta[0] - x : 0.0;
    if (dg != NULL)
        dg[0] = theta[0] > x ? 1.0 : 0.0;
    return g;
}

static double linear_inverse(double ratio, const double *theta, double x0)
{
    (void)x0;
    return theta[0] - ratio;
}

static double quadratic_g(double x, const double *theta, double x0, double *dg)
{
    (void)x0;
    double g = theta[0] > x ? theta[0] - x : 0.0;
    if (dg != NULL)
        dg[0] = 2.0 * g;
    return g * g;
}

static double quadratic_inverse(double ratio, const double *theta, double x0)
{
    (void)x0;
    return theta[0] - sqrt(ratio);
}

/* theta: time constant */
static double exponential_g(double x, const double *theta, double x0, double *dg)
{
    double u = (x - x0) / theta[0], g = exp(-u);
    if (dg != NULL)
        dg[0] = g * u / theta[0];
    return g;
}

static double exponential_inverse(double ratio, const double *theta, double x0)
{
    return x0 - theta[0] * log(ratio);
}

/* theta: h, width s. A logistic curve normalised to 1 at the first setting,
 * g = e^h E / (1 + (e^h - 1) E) with E = exp(-(x - x0) / s); its middle lies at x0 + s ln(e^h - 1).
 * Written so that h = 0 is the exponential: with the middle as parameter that limit lies at minus
 * infinity, and fits of nearly exponential data wander along a valley without end. */
static double logistic_g(double x, const double *theta, double x0, double *dg)
{
    double z = (x - x0) / theta[1], t = exp(theta[0] - z), d = 1.0 + t - exp(-z);
    bool fell = !(d > 0.0); /* at the first setting, with h so low that all else is nothing */
    double g = fell ? 1.0 : t / d;
    if (dg != NULL) {
        dg[0] = g * (1.0 - g);
        dg[1] = fell ? 0.0 : g * z / (theta[1] * d);
    }
    return g;
}

static double logistic_inverse(double ratio, const double *theta, double x0)
{
    double e = exp(theta[0]) * (1.0 / ratio - 1.0) + 1.0;
    return e > 0.0 ? x0 + theta[1] * log(e) : -PL_INF;
}

/* theta: time constant, exponent; normalised to 1 at the first setting */
static double stretched_g(double x, const double *theta, double x0, double *dg)
{
    double a = x > 0.0 ? pow(x / theta[0], theta[1]) : 0.0;
    double b = x0 > 0.0 ? pow(x0 / theta[0], theta[1]) : 0.0;
    double g = exp(b - a);
    if (dg != NULL) {
        dg[0] = g * theta[1] * (a - b) / theta[0];
        double la = x > 0.0 ? a * log(x / theta[0]) : 0.0;
        double lb = x0 > 0.0 ? b * log(x0 / theta[0]) : 0.0;
        dg[1] = g * (lb - la);
    }
    return g;
}

static void stretched_g_all(const struct scaled *s, const double *theta)
{
    double lt = log(theta[0]), b = s->x0 > 0.0 ? exp(theta[1] * (log(s->x0) - lt)) : 0.0;
    for (size_t i = 0; i < s->m; i++) {
        double a = s->x[i] > 0.0 ? exp(theta[1] * (s->log_x[i] - lt)) : 0.0;
        s->g[i] = exp(b - a);
    }
}

static double stretched_inverse(double ratio, const double *theta, double x0)
{
    double b = x0 > 0.0 ? pow(x0 / theta[0], theta[1]) : 0.0;
    double t = b - log(ratio);
    return t > 0.0 ? theta[0] * pow(t, 1.0 / theta[1]) : -PL_INF;
}

const struct family *family_of(enum family_id id)
{
    static const struct family all[FAMILY_N] = {
        [FAMILY_CONSTANT] =
            {FAMILY_CONSTANT, "constant", "P", false, true, 0, {"P"}, NULL, NULL, NULL},
        [FAMILY_LINE] =
            {FAMILY_LINE, "straight line", "a + b x", false, true, 0, {"a", "b"}, NULL, NULL, NULL},
        [FAMILY_LINEAR_PLATEAU] = {FAMILY_LINEAR_PLATEAU,
                                   "linear-plateau",
                                   "P - A max(0, c - x)",
                                   true,
                                   false,
                                   1,
                                   {"P", "A", "c"},
                                   linear_g,
                                   NULL,
                                   linear_inverse},
        [FAMILY_QUADRATIC_PLATEAU] = {FAMILY_QUADRATIC_PLATEAU,
                                      "quadratic-plateau",
                                      "P - A max(0, c - x)^2",
                                      true,
                                      false,
                                      1,
                                      {"P", "A", "c"},
                                      quadratic_g,
                                      NULL,
                                      quadratic_inverse},
        [FAMILY_EXPONENTIAL] = {FAMILY_EXPONENTIAL,
                                "exponential",
                                "P - A exp(-(x - x1) / tau)",
                                true,
                                true,
                                1,
                                {"P", "A", "tau"},
                                exponential_g,
                                NULL,
                                exponential_inverse},
        [FAMILY_LOGISTIC] = {FAMILY_LOGISTIC,
                             "logistic",
                             "P - A e^(h - z) / (1 + e^(h - z) - e^-z), z = (x - x1) / s",
                             true,
                             true,
                             2,
                             {"P", "A", "h", "s"},
                             logistic_g,
                             NULL,
                             logistic_inverse},
        [FAMILY_STRETCHED] = {FAMILY_STRETCHED,
                              "stretched exponential",
                              "P - A exp((x1 / tau)^b - (x / tau)^b)",
                              true,
                              true,
                              2,
                              {"P", "A", "tau", "b"},
                              stretched_g,
                              stretched_g_all,
                              stretched_inverse},
        [FAMILY_BROKEN_STICK] = {FAMILY_BROKEN_STICK,
                                 "broken stick",
                                 "a + b x + d max(0, x - c)",
                                 false,
                                 false,
                                 1,
                                 {"a", "b", "d", "c"},
                                 NULL,
                                 NULL,
                                 NULL},
    };
    return &all[id];
}

bool family_inner(const struct family *f, const struct scaled *s, const double *theta,
                  struct inner *out)
{
    double sum = 0.0;
    if (f->g_all != NULL)
        f->g_all(s, theta);
    else
        for (size_t i = 0; i < s->m; i++)
            s->g[i] = f->g(s->x[i], theta, s->x0, NULL);
    for (size_t i = 0; i < s->m; i++)
        sum += s->w[i] * s->g[i];
    if (!isfinite(sum))
        return false;
    double mean = sum / s->w_sum, d = 0.0, c = 0.0, largest = 0.0;
    for (size_t i = 0; i < s->m; i++) {
        double h = s->g[i] - mean;
        d += s->w[i] * h * h;
        c += s->w[i] * h * s->y[i];
        largest = fmax(largest, fabs(h));
    }
    if (!(d > 0.0) || !(largest > 1e-12 * fabs(mean)))
        return false;
    double a = -c / d, s0 = 0.0;
    for (size_t i = 0; i < s->m; i++) {
        double r = s->y[i] - s->y_mean + a * (s->g[i] - mean);
        s0 += s->w[i] * r * r;
    }
    *out = (struct inner){s0, a, d, s->y_mean + a * mean, 1.0 / s->w_sum + mean * mean / d};
    return isfinite(s0) && isfinite(a);
}
