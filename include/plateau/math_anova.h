/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * math: comparing means. Studentized range, analysis of means, analysis of variance in one way and
 * in two ways without replication, and the imbalance between the cavities of a mold. Plain arrays
 * in the caller's unit; NAN never enters. Knows base alone.
 */
#ifndef PLATEAU_MATH_ANOVA_H
#define PLATEAU_MATH_ANOVA_H

#include "plateau/base.h"

/* ---- studentized range ------------------------------------------------------------------------
 */

/* What: P(Q <= q), Q = range of k standard normals / s, nu s^2 ~ chi-square(nu) independent.
 * Inputs: k >= 2, nu >= 1 or INFINITY (s = 1). Outside: NAN.
 * Model: P(range <= w) = (2 Phi(w/2) - 1)^k + 2k int_{w/2}^inf phi(u) (Phi(u) - Phi(u-w))^(k-1) du,
 * then one integral over the density of s.
 * Numerics: Gauss-Legendre panels for both integrals, the inner one through a table of Chebyshev
 * pieces; absolute error about 1e-13.
 * Source: H. O. Hartley, Biometrika 32 (1942) 334, from memory, for the form of the inner integral.
 * Checked by: tests/reference/test_range.c. */
double math_range_cdf(double q, size_t k, double nu);
/* The q with P(Q <= q) = p, 0 < p <= 1 - 1e-6; relative error below 1e-8 (k 2..64, nu 2..INFINITY).
 * NAN where math_range_cdf is. Cost: a few milliseconds. */
double math_range_quantile(double p, size_t k, double nu);

/* ---- analysis of means ------------------------------------------------------------------------
 */

/* What: P(max_i |X_i - mean X| sqrt(k / (k-1)) / s <= h): the largest of k Student's t with
 * correlation -1 / (k-1), two-sided. Inputs and errors as above.
 * Model: given that they sum to 0, k standard normals are distributed as X_i - mean X, so
 * P(max |X_i - mean X| <= c) = sqrt(2 pi k) f(0), f the density of the sum of k normals cut off
 * at +-c. k = 2: Student's t. k = 3, 4: f is one integral. k >= 5: f(0) from the characteristic
 * function psi(t)^k, psi(t) = int_-c^c phi(x) cos(tx) dx, summed at points so close that
 * no neighbouring image of f reaches 0.
 * Source: L. S. Nelson, J. Quality Technology 14 (1982), from memory, for the problem; the
 * computation is ours. Checked by: tests/reference/test_range.c. */
double math_anom_cdf(double h, size_t k, double nu);
/* The h with that probability; relative error below 1e-8. */
double math_anom_quantile(double p, size_t k, double nu);

struct anom {
    double h;          /* critical value; NAN without degrees of freedom */
    double half_width; /* decision lines are the overall mean +- half_width */
    double overall;
    size_t n_outside;
    int *side; /* per mean: +1 above the upper line, -1 below the lower one, 0 between them */
};
/* What: which of k means, each of n observations, differ from the mean of all of them.
 * half_width = h s sqrt((k-1) / (k n)), h at `level` (0.95) for all comparisons together.
 * Inputs: k >= 2, n >= 1, s >= 0 with nu degrees of freedom. The array lives in `a`. */
void math_anom(struct arena *a, const double *mean, size_t k, size_t n, double s, double nu,
               double level, struct anom *out);

/* ---- analysis of variance ---------------------------------------------------------------------
 */

struct anova_one_way {
    size_t n, groups; /* groups that have an observation */
    double ss_between, ss_within, df_between, df_within;
    double f, p; /* NAN without degrees of freedom; p 0 when nothing is left within groups */
    double r_squared, residual_sd;
};
/* What: do groups of observations share one mean? y[i] belongs to group[i] < groups.
 * Numerics: the first observation is subtracted, then means and sums of squares in two passes with
 * compensated sums, so that common leading digits cost nothing that the data still hold.
 * Checked by: tests/reference/test_anova.c (NIST's certified analyses of variance). */
void math_anova_one_way(struct arena *a, const double *y, const size_t *group, size_t n,
                        size_t groups, struct anova_one_way *out);

/* y[row][column]: rows are cavities, columns are shots; one observation each. */
struct anova_two_way {
    size_t rows, columns;
    double overall;
    double *row_mean;    /* rows */
    double *column_mean; /* columns */
    double *residual;    /* rows * columns, row by row: y - row mean - column mean + overall */
    double ss_rows, ss_columns, ss_residual;
    double df_rows, df_columns, df_residual;
    double f_rows, p_rows, f_columns, p_columns; /* NAN without residual degrees of freedom */
    double residual_sd;                          /* NAN without degrees of freedom */
};
/* What: additive two-way layout without replication; what a column (a shot) has in common in all
 * rows is taken out. Numerics as above. Arrays live in `a`. rows, columns >= 1.
 * Checked by: tests/reference/test_anova.c (by hand, and R's aov). */
void math_anova_two_way(struct arena *a, const double *const *y, size_t rows, size_t columns,
                        struct anova_two_way *out);

struct anova_odd {
    size_t row, column;
    double distance; /* the observation minus what the rest leads to expect */
    double p;        /* Bonferroni-adjusted */
};
/* An observation that stands off the additive layout: externally studentized residual, Bonferroni
 * over all observations. False when df_residual < 2 or nothing has p <= level. The variance of the
 * others is never taken below `least_variance`, that of the rounding, here and below. */
bool math_anova_odd(const struct anova_two_way *t, double level, double least_variance,
                    struct anova_odd *out);
/* A column (a shot) whose pattern over the rows is not that of the others, such as two parts that
 * were exchanged: F test of the layout with it against the layout without it, (rows - 1) and
 * (rows - 1)(columns - 2) degrees of freedom, Bonferroni over the columns. `row` is where it stands
 * off most. False below three columns or when nothing has p <= level. */
bool math_anova_odd_column(const struct anova_two_way *t, double level, double least_variance,
                           struct anova_odd *out);

/* ---- imbalance between cavities ---------------------------------------------------------------
 */

struct imbalance {
    size_t heaviest, lightest; /* rows; ties go to the first */
    double range, largest;     /* of the row means */
    double value, low, high;   /* range / largest; NAN interval without residual dof */
    double s, dof;             /* as used: never below the rounding of the readings */
    bool rounded;              /* the rounding is larger than the scatter */
};
/* What: range of the cavity means over the largest, with an interval at `confidence`.
 *   low  = max(0, R - q(1 - a/2; k, nu) s / sqrt(n)) / max
 *   high = (R + t(1 - a/2; nu) s sqrt(2 / n)) / max,   nu = (k-1)(n-1), a = 1 - confidence
 * The lower end allows for having picked the largest of k(k-1)/2 differences; the upper needs no
 * allowance, since the true range is at least as large as the true difference of any two cavities
 * and the picked pair is biased upwards. s^2 is never below step^2 / 12.
 * Inputs: t of cavities x shots with positive means, rows >= 2; step of the readings, 0: not known.
 * Checked by: tests/property/test_imbalance_coverage.c. */
void math_imbalance(const struct anova_two_way *t, double step, double confidence,
                    struct imbalance *out);
/* Least number of further shots, of those of math_shots, after which the interval lies on one side
 * of `limit` (range / largest) in MATH_DECIDED of the follow-ups drawn from the means and their
 * scatter; -1 when none does. 0 when it does already. */
int math_imbalance_shots(const struct anova_two_way *t, const struct imbalance *i, double limit,
                         double confidence);

#endif
