/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What may be promised of follow-ups that were drawn. */
#include <math.h>

#include <gsl/gsl_cdf.h>

#include "plateau/math.h"

#define MOVED 1.2 /* the promise lies at most this far from the median */

double math_even_point(size_t i, size_t d, size_t n)
{
    if (d == 0)
        return ((double)i + 0.5) / (double)n;
    double root = sqrt((double)(4 * d * d + 1)), u = ((double)i + 0.5) * root;
    return u - floor(u);
}

double math_even_normal(size_t i, size_t d, size_t n)
{
    return gsl_cdf_ugaussian_Pinv(fmin(fmax(math_even_point(i, d, n), 1e-6), 1.0 - 1e-6));
}

double math_promise(double *half, size_t n)
{
    if (n == 0)
        return PL_NAN;
    double middle = math_median(half, n); /* sorts */
    double most = half[(9 * n + 9) / 10 - 1];
    if (!isfinite(middle) || !isfinite(most))
        return PL_NAN;
    double promise = fmin(fmax(middle, most / MATH_PROMISE_KEPT), MOVED * middle);
    return most <= MATH_PROMISE_KEPT * promise ? promise : PL_NAN;
}
