/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * math, cooling: how long a slab cools, when a temperature has fallen to a limit, and what share of
 * parts lies inside a limit. Plain numbers and arrays in the caller's unit; NAN never enters. Knows
 * base, and the blocks of math.h by name.
 */
#ifndef PLATEAU_MATH_COOLING_H
#define PLATEAU_MATH_COOLING_H

#include "plateau/base.h"

struct math_blocks; /* math.h */

/* ---- a slab between two walls
 * ------------------------------------------------------------------ */

enum slab_point { SLAB_MEAN, SLAB_CENTRE };

/* What: (T - T_wall) / (T_start - T_wall) of a slab of full thickness s after the time t, both
 * faces held at T_wall from the start, as a function of fourier = diffusivity t / s^2. Model:
 * conduction across the thickness alone, constant properties, no latent heat. mean:   8/pi^2 sum
 * 1/(2m+1)^2 exp(-(2m+1)^2 pi^2 Fo) centre: 4/pi sum (-1)^m/(2m+1) exp(-(2m+1)^2 pi^2 Fo) Numerics:
 * the sums from Fo = 0.05 on, below it their counterparts for short times in the complementary
 * error function; full double precision. NAN for fourier < 0. Source: Carslaw and Jaeger,
 * Conduction of Heat in Solids (1959), from memory. Checked by:
 * tests/reference/test_cooling_values.c. */
double math_slab_ratio(enum slab_point point, double fourier);
/* The time after which the mean (or the centre) has fallen to `limit`: t = Fo s^2 / diffusivity
 * from the whole series, so it holds where the first term alone turns negative (the mean: above a
 * ratio of 0.81). 0 when the start is no hotter than the limit. NAN when the wall is not colder
 * than the limit or the start not hotter than the wall, or a length or diffusivity is not positive.
 */
double math_slab_time(enum slab_point point, double thickness, double diffusivity, double start,
                      double wall, double limit);

/* ---- one-sided tolerance factors of the normal distribution
 * ------------------------------------ */

/* P(T <= t), T = (Z + delta) / sqrt(chi^2(nu) / nu). nu >= 1. NAN outside.
 * Model: int f(s) Phi(t s - delta) ds over the density of s = sqrt(chi^2(nu) / nu).
 * Numerics: Gauss-Legendre panels no wider than the density's and the integrand's scale; absolute
 * error about 1e-13. Checked by: tests/reference/test_cooling_values.c. */
double math_noncentral_t_cdf(double t, double nu, double delta);
double math_noncentral_t_quantile(double p, double nu, double delta);

/* What: the k for which, at this confidence, at least the share p of all parts lies below
 * mean + k s. k = t'(confidence; nu, z_p sqrt n) / sqrt n. The mean has the variance sigma^2 / n,
 * s^2 estimates sigma^2 with nu degrees of freedom; n need not be whole, nu = n - 1 for one sample.
 * Inputs: 0 < p, confidence < 1, n > 0, nu >= 1; NAN outside. A confidence below 0.5 gives the
 * factor that shows the share to be smaller. Exact for normal parts. Source: D. B. Owen (1962),
 * from memory, for the noncentral t. Checked by: tests/reference/test_cooling_values.c. */
double math_tolerance_factor(double p, double confidence, double n, double nu);
/* The inverse: the lower confidence bound of the share below mean + d s (the upper one at
 * 1 - confidence). d may be negative. */
double math_share_bound(double d, double confidence, double n, double nu);
/* Share of a normal distribution below z, and the z below which a share p lies. */
double math_normal_share(double z);
double math_normal_quantile(double p);

/* ---- a temperature that falls to a limit
 * ------------------------------------------------------- */

enum decay_state {
    DECAY_FOUND,        /* interval inside the tested range, value unless only a bracket is known */
    DECAY_BEFORE_FIRST, /* below the limit at the first setting: bound = it, no value */
    DECAY_OPEN,         /* not shown to have reached the limit at the last setting: no bound */
    DECAY_NOT_REACHED   /* shown to be above the limit at the last setting */
};
struct decay_answer {
    enum decay_state state;
    bool curve;              /* from the fitted curve; else from neighbouring settings */
    double value, low, high; /* x at which the limit is crossed; NAN none, +-INFINITY open */
    double bound;            /* safe end, or NAN */
    double at_last, at_last_low, at_last_high; /* y at the last setting */
    double shot_sd, shot_dof;                  /* within blocks; NAN and 0 without repeats */
    double block_sd;                           /* in excess of it, around the curve; NAN */
    /* of the curve: end value, drop at the first setting, time constant; sums of block means */
    double parameter[3], covariance[3][3], rss, sigma;
    int rank;
    double condition_number;
    const char *stop;
    double misfit_p; /* lack of fit against pure error; NAN */
};
/* What: y = end + drop exp(-(x - x1) / tau), drop > 0, and the x at which it is `limit`.
 * Interval: every f whose least weighted sum of squares of block means under "the curve passes
 * `limit` at f" is at most the larger of the rows' and the block means' F criterion (as
 * plateau_find). Since y - limit = drop (g(x) - g(f)) there, the drop is linear and tau alone is
 * searched. Needs five settings and six rows; below that the neighbouring settings whose means lie
 * on either side of the limit by t standard errors (by nothing where there are no repeats).
 * Inputs: blocks; step of y's digits; confidence. Errors: ERR_NUMERIC for non-finite input.
 * Checked by: tests/reference/test_cooling_values.c, tests/property/test_cooling_coverage.c. */
enum errc decay_find(struct arena *a, const struct math_blocks *blocks, double limit, double step,
                     double confidence, struct decay_answer *out, struct error *e) PL_MUST_CHECK;
/* Half the width of the crossing's interval after n_more further shots at x; NAN without a curve or
 * without a closed interval. To first order: the interval narrows as the crossing's standard error
 * does, and with the degree of freedom that a further block brings.
 * Checked by: tests/property/test_next_shots.c. */
double decay_forecast(const struct math_blocks *blocks, const struct decay_answer *r, double step,
                      double confidence, double x, int n_more);
/* The fitted curve; NAN without one. */
double decay_value(const struct decay_answer *r, double x, double x_first);

#endif
