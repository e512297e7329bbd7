/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Conduction out of a slab whose two faces are held at the wall's temperature. */
#include <math.h>

#include <gsl/gsl_math.h>

#include "math/math_internal.h"
#include "plateau/math_cooling.h"

#define SHORT_TIME 0.05 /* both forms are exact here */
#define NEGLIGIBLE 40.0 /* exponent */

static double long_time(enum slab_point point, double fourier)
{
    double sum = 0.0, sign = 1.0;
    for (double odd = 1.0; odd * odd * M_PI * M_PI * fourier < NEGLIGIBLE; odd += 2.0) {
        double decay = exp(-odd * odd * M_PI * M_PI * fourier);
        sum += point == SLAB_MEAN ? decay / (odd * odd) : sign * decay / odd;
        sign = -sign;
    }
    return point == SLAB_MEAN ? 8.0 / (M_PI * M_PI) * sum : 4.0 / M_PI * sum;
}

/* The integral of erfc from x to infinity. */
static double integrated_erfc(double x)
{
    return exp(-x * x) / sqrt(M_PI) - x * erfc(x);
}

/* Images of the two faces: each term is one more reflection. */
static double short_time(enum slab_point point, double fourier)
{
    double root = sqrt(fourier), sign = 1.0, sum = 0.0;
    if (!(root > 0.0))
        return 1.0;
    if (point == SLAB_CENTRE) {
        for (double odd = 1.0; odd / (4.0 * root) < 7.0; odd += 2.0, sign = -sign)
            sum += sign * erfc(odd / (4.0 * root));
        return 1.0 - 2.0 * sum;
    }
    for (double m = 1.0; m / (2.0 * root) < 7.0; m += 1.0) {
        sign = -sign;
        sum += sign * integrated_erfc(m / (2.0 * root));
    }
    return 1.0 - 4.0 * root * (1.0 / sqrt(M_PI) + 2.0 * sum);
}

double math_slab_ratio(enum slab_point point, double fourier)
{
    if (!(fourier >= 0.0))
        return PL_NAN;
    return fourier < SHORT_TIME ? short_time(point, fourier) : long_time(point, fourier);
}

struct slab {
    enum slab_point point;
};

/* Rises with the logarithm of the time. */
static double cooled(double log_fourier, void *context)
{
    const struct slab *s = context;
    return -log(fmax(math_slab_ratio(s->point, exp(log_fourier)), 1e-300));
}

/* 1 - ratio, for ratios so close to 1 that their logarithm tells nothing. */
static double barely_cooled(double log_fourier, void *context)
{
    const struct slab *s = context;
    return 1.0 - math_slab_ratio(s->point, exp(log_fourier));
}

double math_slab_time(enum slab_point point, double thickness, double diffusivity, double start,
                      double wall, double limit)
{
    if (!(thickness > 0.0) || !(diffusivity > 0.0) || !(start > wall) || !(limit > wall))
        return PL_NAN;
    if (limit >= start)
        return 0.0;
    double ratio = (limit - wall) / (start - wall);
    struct slab s = {point};
    double unit = thickness * thickness / diffusivity;
    double fourier = ratio > 0.9
                         ? math_root(barely_cooled, &s, 1.0 - ratio, log(1e-24), log(SHORT_TIME))
                         : math_root(cooled, &s, -log(ratio), log(1e-4), log(80.0));
    return exp(fourier) * unit;
}
