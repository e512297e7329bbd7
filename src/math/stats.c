/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>

#include "plateau/math.h"
#include "math/math_internal.h"

void math_quiet(void)
{
    gsl_set_error_handler_off();
}

double math_t_quantile(double p, double dof)
{
    math_quiet();
    if (!(p > 0.0 && p < 1.0) || !(dof > 0.0))
        return NAN;
    return gsl_cdf_tdist_Pinv(p, dof);
}

double math_t_cdf(double t, double dof)
{
    math_quiet();
    if (!(dof > 0.0) || isnan(t))
        return NAN;
    return gsl_cdf_tdist_P(t, dof);
}

double math_f_tail(double f, double d1, double d2)
{
    math_quiet();
    if (!(d1 > 0.0) || !(d2 > 0.0) || isnan(f))
        return NAN;
    return f <= 0.0 ? 1.0 : gsl_cdf_fdist_Q(f, d1, d2);
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double math_median(double *v, size_t n)
{
    if (n == 0)
        return PL_NAN;
    qsort(v, n, sizeof *v, ascending);
    return n % 2 == 1 ? v[n / 2] : 0.5 * (v[n / 2 - 1] + v[n / 2]);
}
