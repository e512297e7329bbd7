/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One-dimensional minimum and root by GSL, for functions known to be bracketed. */
#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_min.h>
#include <gsl/gsl_roots.h>

#include "math/math_internal.h"

#define MOST_STEPS 100
#define STILL 6 /* steps in a row that lower the least value no further */

static double minimize(double (*fn)(double u, void *context), void *context, double a, double m,
                       double b, int most_still, double *value)
{
    math_quiet();
    double at_a = fn(a, context), at_m = fn(m, context), at_b = fn(b, context);
    *value = at_m;
    if (!(at_m < at_a && at_m < at_b) || !isfinite(at_a) || !isfinite(at_b))
        return m;
    gsl_min_fminimizer *s = gsl_min_fminimizer_alloc(gsl_min_fminimizer_brent);
    if (s == NULL)
        return m;
    gsl_function f = {fn, context};
    double best = m, least = at_m;
    int still = 0;
    if (gsl_min_fminimizer_set_with_values(s, &f, m, at_m, a, at_a, b, at_b) == GSL_SUCCESS) {
        for (int i = 0; i < MOST_STEPS; i++) {
            if (gsl_min_fminimizer_iterate(s) != GSL_SUCCESS)
                break;
            double lower = gsl_min_fminimizer_x_lower(s), upper = gsl_min_fminimizer_x_upper(s);
            if (gsl_min_test_interval(lower, upper, 0.0, 1e-10) != GSL_CONTINUE)
                break;
            double then = gsl_min_fminimizer_f_minimum(s);
            still = least - then > 1e-14 * fabs(then) ? 0 : still + 1;
            if (still >= most_still)
                break;
            least = then;
        }
        double at = gsl_min_fminimizer_f_minimum(s);
        if (isfinite(at) && at <= at_m) {
            best = gsl_min_fminimizer_x_minimum(s);
            *value = at;
        }
    }
    gsl_min_fminimizer_free(s);
    return best;
}

double math_minimize(double (*fn)(double u, void *context), void *context, double a, double m,
                     double b, double *value)
{
    return minimize(fn, context, a, m, b, MOST_STEPS, value);
}

double math_least(double (*fn)(double u, void *context), void *context, double a, double m,
                  double b, double *value)
{
    return minimize(fn, context, a, m, b, STILL, value);
}

struct shifted {
    double (*fn)(double u, void *context);
    void *context;
    double level;
};

static double shifted_value(double u, void *context)
{
    struct shifted *s = context;
    return s->fn(u, s->context) - s->level;
}

double math_root(double (*fn)(double u, void *context), void *context, double level, double a,
                 double b)
{
    math_quiet();
    struct shifted shifted = {fn, context, level};
    gsl_root_fsolver *s = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    double root = a;
    if (s == NULL)
        return root;
    gsl_function f = {shifted_value, &shifted};
    if (gsl_root_fsolver_set(s, &f, fmin(a, b), fmax(a, b)) == GSL_SUCCESS) {
        for (int i = 0; i < MOST_STEPS; i++) {
            if (gsl_root_fsolver_iterate(s) != GSL_SUCCESS)
                break;
            double lower = gsl_root_fsolver_x_lower(s), upper = gsl_root_fsolver_x_upper(s);
            if (gsl_root_test_interval(lower, upper, 1e-15, 1e-14) != GSL_CONTINUE)
                break;
        }
        root = gsl_root_fsolver_root(s);
    }
    gsl_root_fsolver_free(s);
    return root;
}
