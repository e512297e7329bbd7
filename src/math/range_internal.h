/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From the distribution of a statistic of standard normals to that of the statistic divided by an
 * independent estimate of their standard deviation. */
#ifndef RANGE_INTERNAL_H
#define RANGE_INTERNAL_H

#include "plateau/math_anova.h"

#define GAUSS_POINTS 16
/* One panel of a Gauss-Legendre rule, on [-1, 1]. */
struct gauss {
    double x[GAUSS_POINTS], w[GAUSS_POINTS];
};
bool gauss_fill(struct gauss *g);

/* P(statistic <= w) for k standard normals; 1 to double precision from `end` on. */
struct normal_cdf {
    double (*value)(double w, size_t k, const struct gauss *g);
    size_t k;
    double end;
};
/* P(statistic / s <= q). NAN for nu < 1. */
double studentized_cdf(const struct normal_cdf *f, double q, double nu);
double studentized_quantile(const struct normal_cdf *f, double p, double nu);

/* x^n for a whole n. */
double range_power(double x, size_t n);
double range_phi(double x); /* standard normal density */

#endif
