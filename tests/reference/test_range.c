/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Studentized range and analysis of means against tables made elsewhere, printed ones and R
 * (scripts/range.R). */
#include <math.h>

#include "near.h"
#include "plateau/math.h"
#include "plateau/math_anova.h"
#include "range_values.h"

static double dof_of(double dof)
{
    return dof > 0.0 ? dof : PL_INF;
}

static void range_quantiles(void **state)
{
    (void)state;
    for (size_t i = 0; i < PL_COUNT(range_values); i++) {
        const struct range_value *v = &range_values[i];
        assert_lre(math_range_quantile(1.0 - v->alpha, v->k, dof_of(v->dof)), v->value, 9.5);
    }
}

static void range_cdf(void **state)
{
    (void)state;
    for (size_t i = 0; i < PL_COUNT(range_probabilities); i++) {
        const struct range_probability *v = &range_probabilities[i];
        assert_near(math_range_cdf(v->q, v->k, v->dof), v->value, 0.0, 1e-11);
    }
}

/* For two means the range is |t| sqrt(2). */
static void range_of_two(void **state)
{
    const double dof[] = {2.0, 3.0, 7.5, 40.0, 1e4};
    (void)state;
    for (size_t i = 0; i < PL_COUNT(dof); i++)
        for (double p = 0.05; p < 1.0; p += 0.13)
            assert_lre(math_range_quantile(p, 2, dof[i]),
                       sqrt(2.0) * math_t_quantile(0.5 + p / 2.0, dof[i]), 9.5);
}

/* R's integrate (scripts/range.R); printed tables: q(0.01; 10, 2) = 31.7, q(0.05; 3, 10) = 3.88. */
static void range_elsewhere(void **state)
{
    (void)state;
    assert_lre(math_range_quantile(0.95, 64, 63.0), 6.12457006956, 10.0);
    assert_lre(math_range_quantile(0.95, 64, PL_INF), 5.80574869534, 10.0);
    assert_near(math_range_quantile(0.99, 10, 2.0), 31.7, 0.0, 0.05);
    assert_near(math_range_quantile(0.95, 3, 10.0), 3.88, 0.0, 0.005);
    /* NIST/SEMATECH handbook 7.4.7.1: half-width 2.0874 = q(0.95; 4, 16) sqrt(1.33075 / 5) */
    assert_lre(math_range_quantile(0.95, 4, 16.0) * sqrt(1.33075 / 5.0), 2.087368, 6.0);
}

static void anom_quantiles(void **state)
{
    (void)state;
    for (size_t i = 0; i < PL_COUNT(anom_values); i++) {
        const struct range_value *v = &anom_values[i];
        assert_lre(math_anom_quantile(1.0 - v->alpha, v->k, dof_of(v->dof)), v->value, 7.9);
    }
}

/* R's integrate (scripts/range.R): for k = 3 from the bivariate normal distribution. */
static void anom_elsewhere(void **state)
{
    (void)state;
    assert_lre(math_anom_quantile(0.90, 3, 2.0), 4.05359494852, 10.0);
    assert_lre(math_anom_quantile(0.95, 3, 2.0), 5.89075290132, 10.0);
    assert_lre(math_anom_quantile(0.99, 3, 2.0), 13.4484186076, 10.0);
    assert_lre(math_anom_quantile(0.95, 3, 24.0), 2.49728711971, 10.0);
    assert_lre(math_anom_quantile(0.95, 64, PL_INF), 3.35227158802, 10.0);
    assert_lre(math_anom_quantile(0.95, 2, 9.0), math_t_quantile(0.975, 9.0), 10.0);
}

/* Between the bound of Bonferroni and, for correlations below zero, the product of k
 * probabilities; the steps between the three ways of computing it (k 4, 5; odd, even) show. */
static void anom_bounds(void **state)
{
    (void)state;
    for (size_t k = 3; k <= 64; k++)
        for (double h = 0.5; h < 4.0; h += 0.25) {
            double one = math_anom_cdf(h, 2, PL_INF), all = math_anom_cdf(h, k, PL_INF);
            double product = pow(one, (double)k);
            assert_true(all >= 1.0 - (double)k * (1.0 - one) - 1e-11);
            assert_true(h < 1.5 || all >= product);
            assert_true(all <= math_anom_cdf(h, k - 1, PL_INF) + 1e-11);
        }
}

static void round_trip(void **state)
{
    const size_t k[] = {2, 3, 4, 5, 6, 13, 64, 200};
    const double dof[] = {1.0, 2.0, 2.5, 11.0, 126.0, 2e4, 1e8};
    (void)state;
    for (size_t i = 0; i < PL_COUNT(k); i++)
        for (size_t j = 0; j < PL_COUNT(dof); j++) {
            double q = math_range_quantile(0.975, k[i], dof[j]);
            double h = math_anom_quantile(0.975, k[i], dof[j]);
            assert_lre(math_range_cdf(q, k[i], dof[j]), 0.975, 11.0);
            assert_lre(math_anom_cdf(h, k[i], dof[j]), 0.975, 11.0);
        }
}

static void out_of_range(void **state)
{
    (void)state;
    assert_true(isnan(math_range_quantile(0.0, 3, 5.0)));
    assert_true(isnan(math_range_quantile(1.0, 3, 5.0)));
    assert_true(isnan(math_range_quantile(0.95, 1, 5.0)));
    assert_true(isnan(math_range_quantile(0.95, 3, 0.0)));
    assert_true(isnan(math_range_quantile(0.95, 3, PL_NAN)));
    assert_true(isnan(math_anom_quantile(0.95, 1, 5.0)));
    assert_true(isnan(math_range_cdf(PL_NAN, 3, 5.0)));
    assert_near(math_range_cdf(-1.0, 3, 5.0), 0.0, 0.0, 0.0);
    assert_near(math_range_cdf(1e9, 3, 5.0), 1.0, 0.0, 1e-15);
    assert_near(math_anom_cdf(PL_INF, 3, 5.0), 1.0, 0.0, 0.0);
}

/* Hemoglobin of six groups of five (Nelson, Wludyka, Copeland, The Analysis of Means, 2005, page
 * 71, data as shipped with R's package ANOM): grand mean 13.4567, MSE 2.10967, only the third
 * group lies outside; the fourth and fifth miss the lower line by 0.044 and 0.004. */
static void hemoglobin(void **state)
{
    const double mean[] = {13.66, 14.08, 16.28, 11.82, 11.78, 13.12};
    struct arena *a = arena_new();
    struct anom d;
    (void)state;
    math_anom(a, mean, 6, 5, sqrt(2.1096666667), 24.0, 0.95, &d);
    assert_lre(d.h, 2.83402, 6.0);
    assert_lre(d.overall, 13.4566666667, 10.0);
    assert_near(d.half_width, 1.68049, 1e-5, 0.0);
    assert_int_equal(d.n_outside, 1);
    for (int i = 0; i < 6; i++)
        assert_int_equal(d.side[i], i == 2);
    math_anom(a, mean, 6, 5, sqrt(2.1096666667), 24.0, 0.945, &d); /* a near miss is near */
    assert_int_equal(d.n_outside, 2);
    assert_int_equal(d.side[4], -1);
    math_anom(a, mean, 6, 1, PL_NAN, 0.0, 0.95, &d);
    assert_true(isnan(d.half_width));
    assert_int_equal(d.n_outside, 0);
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(range_quantiles), cmocka_unit_test(range_cdf),
        cmocka_unit_test(range_of_two),    cmocka_unit_test(range_elsewhere),
        cmocka_unit_test(anom_quantiles),  cmocka_unit_test(anom_elsewhere),
        cmocka_unit_test(anom_bounds),     cmocka_unit_test(round_trip),
        cmocka_unit_test(out_of_range),    cmocka_unit_test(hemoglobin),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
