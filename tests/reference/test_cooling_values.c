/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cooling of a slab, one-sided tolerance factors and the crossing of a falling temperature against
 * published values, closed forms and R (scripts/cooling.R). */
#include <math.h>
#include <string.h>

#include "cooling_values.h"
#include "arena_bench.h"
#include "near.h"
#include "plateau/math.h"
#include "plateau/math_cooling.h"

/* ---- slab -----------------------------------------------------------------------------------
 */

/* Plate of ABS, diffusivity 0.0873 mm2/s, melt 239, mold 60, ejection 97.3 degC, centre
 * line: 8.4 s at 2 mm, 18.9 s at 3 mm. D. O. Kazmer, Injection Mold Design Engineering, Hanser
 * 2007, read second-hand. */
static void published_plate(void **state)
{
    (void)state;
    assert_near(math_slab_time(SLAB_CENTRE, 2.0, 0.0873, 239.0, 60.0, 97.3), 8.4, 0.0, 0.05);
    assert_near(math_slab_time(SLAB_CENTRE, 3.0, 0.0873, 239.0, 60.0, 97.3), 18.9, 0.0, 0.05);
}

/* 8 mm, 0.10 mm2/s, 240/60/120 degC: own arithmetic, series summed by hand to 0.01 s. */
static void thick_plate(void **state)
{
    (void)state;
    assert_near(math_slab_time(SLAB_CENTRE, 8.0, 0.10, 240.0, 60.0, 120.0), 86.90, 0.0, 0.005);
    assert_near(math_slab_time(SLAB_MEAN, 8.0, 0.10, 240.0, 60.0, 120.0), 57.63, 0.0, 0.005);
}

/* Far from the start one term is left: t = s^2 / (pi^2 a) ln(c / ratio). */
static void one_term_late(void **state)
{
    (void)state;
    const double pi = 3.14159265358979323846, s = 2.5, a = 0.09;
    for (double ratio = 0.12; ratio > 1e-6; ratio /= 3.0) {
        double limit = 50.0 + 150.0 * ratio;
        double term = exp(-8.0 * log(4.0 / pi / ratio)) / 3.0; /* size of the next one */
        assert_near(math_slab_time(SLAB_CENTRE, s, a, 200.0, 50.0, limit),
                    s * s / (pi * pi * a) * log(4.0 / pi / ratio), 2.0 * term + 1e-12, 0.0);
        term = exp(-8.0 * log(8.0 / (pi * pi) / ratio)) / 9.0;
        assert_near(math_slab_time(SLAB_MEAN, s, a, 200.0, 50.0, limit),
                    s * s / (pi * pi * a) * log(8.0 / (pi * pi) / ratio), 2.0 * term + 1e-12, 0.0);
    }
}

/* Near the start the faces do not know of each other: mean = 1 - 4 sqrt(Fo / pi). At a ratio of 0.9
 * one term alone would give a negative time. */
static void many_terms_early(void **state)
{
    (void)state;
    const double pi = 3.14159265358979323846;
    static const double ratios[] = {0.9, 0.95, 0.99, 0.999, 0.99999};
    for (size_t i = 0; i < PL_COUNT(ratios); i++) {
        double root = (1.0 - ratios[i]) / 4.0, fourier = root * root * pi;
        double got = math_slab_time(SLAB_MEAN, 3.0, 0.1, 250.0, 50.0, 50.0 + 200.0 * ratios[i]);
        assert_true(8.0 / (pi * pi) < ratios[i] && log(8.0 / (pi * pi) / ratios[i]) < 0.0);
        assert_lre(got, fourier * 9.0 / 0.1, 8);
    }
}

/* The sum of very many terms, added here the plain way, on both sides of where the form changes. */
static void series_both_sides(void **state)
{
    (void)state;
    const double pi = 3.14159265358979323846;
    static const double fourier[] = {0.002, 0.01, 0.03, 0.04999, 0.05, 0.05001, 0.08, 0.3, 1.0};
    for (size_t i = 0; i < PL_COUNT(fourier); i++) {
        double mean = 0.0, centre = 0.0;
        for (int m = 200; m >= 0; m--) {
            double odd = 2.0 * m + 1.0, decay = exp(-odd * odd * pi * pi * fourier[i]);
            mean += 8.0 / (pi * pi) * decay / (odd * odd);
            centre += 4.0 / pi * (m % 2 == 0 ? 1.0 : -1.0) * decay / odd;
        }
        assert_lre(math_slab_ratio(SLAB_MEAN, fourier[i]), mean, 12);
        assert_lre(math_slab_ratio(SLAB_CENTRE, fourier[i]), centre, 12);
    }
    assert_near(math_slab_ratio(SLAB_MEAN, 0.0), 1.0, 0.0, 0.0);
}

static void slab_that_is_none(void **state)
{
    (void)state;
    assert_true(isnan(math_slab_time(SLAB_MEAN, 2.0, 0.1, 200.0, 60.0, 60.0)));
    assert_true(isnan(math_slab_time(SLAB_MEAN, 2.0, 0.1, 50.0, 60.0, 90.0)));
    assert_true(isnan(math_slab_time(SLAB_MEAN, 0.0, 0.1, 200.0, 60.0, 90.0)));
    assert_true(isnan(math_slab_time(SLAB_MEAN, 2.0, PL_NAN, 200.0, 60.0, 90.0)));
    assert_true(isnan(math_slab_ratio(SLAB_MEAN, -1.0)));
    assert_near(math_slab_time(SLAB_CENTRE, 2.0, 0.1, 200.0, 60.0, 220.0), 0.0, 0.0, 0.0);
}

/* ---- tolerance factors ------------------------------------------------------------------------
 */

static void exact_tolerance_factors(void **state)
{
    (void)state;
    for (size_t i = 0; i < PL_COUNT(exact_factors); i++) {
        const struct tolerance_value *v = &exact_factors[i];
        double k = math_tolerance_factor(v->p, v->confidence, v->n, v->n - 1.0);
        assert_lre(k, v->k, 9);
        assert_lre(math_share_bound(v->k, v->confidence, v->n, v->n - 1.0), v->p, 9);
    }
}

/* To the last printed digit. */
static void published_tolerance_factors(void **state)
{
    (void)state;
    for (size_t i = 0; i < PL_COUNT(published_factors); i++) {
        const struct tolerance_value *v = &published_factors[i];
        double k = math_tolerance_factor(v->p, v->confidence, v->n, v->n - 1.0);
        assert_near(k, v->k, 0.0, 0.000501);
    }
    /* NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3: n 43, p 0.90, confidence 0.99 */
    assert_near(math_tolerance_factor(0.90, 0.99, 43.0, 42.0), 1.8740, 0.0, 0.00005);
}

/* Standard deviation pooled over several settings: R's qt. */
static void pooled_tolerance_factors(void **state)
{
    (void)state;
    static const double v[][5] = {
        {0.9973, 0.95, 3.0, 16.0, 4.4119386699},  {0.99865, 0.95, 3.0, 16.0, 4.6981206673},
        {0.9973, 0.95, 1.5, 7.25, 5.6110232327},  {0.9, 0.05, 3.0, 16.0, 0.3321900827},
        {0.99865, 0.95, 3.0, 60.0, 4.1493223542},
    };
    for (size_t i = 0; i < PL_COUNT(v); i++) {
        assert_lre(math_tolerance_factor(v[i][0], v[i][1], v[i][2], v[i][3]), v[i][4], 9);
        assert_lre(math_share_bound(v[i][4], v[i][1], v[i][2], v[i][3]), v[i][0], 9);
    }
    assert_true(math_share_bound(-1.0, 0.95, 3.0, 16.0) < math_normal_share(-1.0));
    assert_true(isnan(math_tolerance_factor(1.0, 0.95, 3.0, 16.0)));
    assert_true(isnan(math_tolerance_factor(0.9, 0.95, 0.0, 16.0)));
    assert_true(isnan(math_tolerance_factor(0.9, 0.95, 3.0, 0.5)));
    assert_true(isnan(math_share_bound(1.0, 0.0, 3.0, 16.0)));
}

/* Without noncentrality it is Student's t; a Cauchy distribution at one degree of freedom. */
static void noncentral_t_at_zero(void **state)
{
    (void)state;
    for (double t = -6.0; t < 6.5; t += 0.75) {
        assert_near(math_noncentral_t_cdf(t, 7.0, 0.0), math_t_cdf(t, 7.0), 1e-11, 1e-13);
        assert_near(math_noncentral_t_cdf(t, 1.0, 0.0), 0.5 + atan(t) / 3.14159265358979323846,
                    1e-11, 1e-13);
    }
    assert_lre(math_noncentral_t_quantile(0.975, 11.0, 0.0), math_t_quantile(0.975, 11.0), 10);
    assert_true(isnan(math_noncentral_t_cdf(1.0, 0.5, 0.0)));
    assert_true(isnan(math_noncentral_t_quantile(1.0, 5.0, 0.0)));
}

/* ---- a falling temperature --------------------------------------------------------------------
 */

#define SETTINGS 8
#define SHOTS 3
static const double scattered[SETTINGS * SHOTS] = {
    138.3, 137.5, 138.1, 99.4, 98.9, 99.6, 79.2, 79.3, 78.6, 68.5, 69.0, 68.6,
    63.7,  63.9,  63.2,  60.6, 60.9, 61.2, 59.3, 59.6, 59.1, 58.6, 58.9, 58.4};

static struct decay_answer decay_of(const double *y, size_t settings, size_t shots, double limit)
{
    double x[SETTINGS * SHOTS];
    struct math_blocks b;
    struct decay_answer r;
    struct error e = {.code = ERR_NONE};
    for (size_t i = 0; i < settings * shots; i++)
        x[i] = 6.0 + 2.0 * (double)(i / shots);
    math_blocks_make(arena, x, y, settings * shots, &b);
    assert_int_equal(decay_find(arena, &b, limit, 0.0, 0.95, &r, &e), ERR_NONE);
    return r;
}

static void crossing_by_profile(void **state)
{
    (void)state;
    struct decay_answer r = decay_of(scattered, SETTINGS, SHOTS, 80.0);
    assert_int_equal(r.state, DECAY_FOUND);
    assert_true(r.curve);
    assert_lre(r.value, 9.88067547, 8);
    assert_lre(r.low, 9.84987867, 7);
    assert_lre(r.high, 9.91157508, 7);
    assert_near(r.bound, r.high, 0.0, 0.0);
    assert_lre(r.parameter[0], 57.879304519, 7);
    assert_lre(r.parameter[1], 80.124227049, 7);
    assert_lre(r.parameter[2], 3.015136388, 7);
    assert_lre(r.shot_sd, 0.32850672, 6);
}

/* y = 58 + 80 exp(-(x - 6) / 3) exactly: 80 is passed at 6 + 3 ln(80 / 22). */
static void crossing_of_exact_data(void **state)
{
    (void)state;
    double y[SETTINGS * SHOTS];
    for (size_t i = 0; i < PL_COUNT(y); i++)
        y[i] = 58.0 + 80.0 * exp(-2.0 * (double)(i / SHOTS) / 3.0);
    struct decay_answer r = decay_of(y, SETTINGS, SHOTS, 80.0);
    double truth = 6.0 + 3.0 * log(80.0 / 22.0);
    assert_int_equal(r.state, DECAY_FOUND);
    assert_lre(r.value, truth, 8);
    assert_true(r.low <= r.value && r.value <= r.high && r.high - r.low < 1e-6);
}

static void limits_outside_the_trial(void **state)
{
    (void)state;
    struct decay_answer r = decay_of(scattered, SETTINGS, SHOTS, 150.0);
    assert_int_equal(r.state, DECAY_BEFORE_FIRST);
    assert_near(r.bound, 6.0, 0.0, 0.0);
    assert_true(isnan(r.value));
    r = decay_of(scattered, SETTINGS, SHOTS, 55.0);
    assert_int_equal(r.state, DECAY_NOT_REACHED);
    assert_true(isnan(r.bound) && r.at_last_low > 55.0);
    r = decay_of(scattered, SETTINGS, SHOTS, 58.7); /* within the curve's interval at 20 s */
    assert_int_equal(r.state, DECAY_OPEN);
    assert_true(isnan(r.bound) && isinf(r.high) && isfinite(r.low));
}

/* Three settings give no curve: the limit is passed between two of them. */
static void crossing_by_bracket(void **state)
{
    (void)state;
    struct decay_answer r = decay_of(scattered, 3, SHOTS, 90.0);
    assert_int_equal(r.state, DECAY_FOUND);
    assert_false(r.curve);
    assert_true(isnan(r.value));
    assert_near(r.low, 8.0, 0.0, 0.0);
    assert_near(r.bound, 10.0, 0.0, 0.0);
    r = decay_of(scattered, 3, SHOTS, 79.1); /* the mean at 10 s is 79.03, too close to tell */
    assert_int_equal(r.state, DECAY_OPEN);
    r = decay_of(scattered, 3, SHOTS, 70.0);
    assert_int_equal(r.state, DECAY_NOT_REACHED);
    r = decay_of(scattered, 3, SHOTS, 145.0);
    assert_int_equal(r.state, DECAY_BEFORE_FIRST);
}

/* A scale or shift of x and a change of the unit of temperature leave the answer where it is. */
static void crossing_in_other_units(void **state)
{
    (void)state;
    double x[SETTINGS * SHOTS], y[SETTINGS * SHOTS];
    struct math_blocks b;
    struct decay_answer r, want = decay_of(scattered, SETTINGS, SHOTS, 80.0);
    struct error e = {.code = ERR_NONE};
    for (size_t i = 0; i < PL_COUNT(y); i++) {
        x[i] = (6.0 + 2.0 * (double)(i / SHOTS)) / 60.0;
        y[i] = scattered[i] * 1.8 + 32.0;
    }
    math_blocks_make(arena, x, y, PL_COUNT(y), &b);
    assert_int_equal(decay_find(arena, &b, 176.0, 0.0, 0.95, &r, &e), ERR_NONE);
    assert_lre(r.value * 60.0, want.value, 10);
    assert_lre(r.low * 60.0, want.low, 10);
    assert_lre(r.high * 60.0, want.high, 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_plate),
        cmocka_unit_test(thick_plate),
        cmocka_unit_test(one_term_late),
        cmocka_unit_test(many_terms_early),
        cmocka_unit_test(series_both_sides),
        cmocka_unit_test(slab_that_is_none),
        cmocka_unit_test(exact_tolerance_factors),
        cmocka_unit_test(published_tolerance_factors),
        cmocka_unit_test(pooled_tolerance_factors),
        cmocka_unit_test(noncentral_t_at_zero),
        cmocka_unit_test_setup_teardown(crossing_by_profile, setup, teardown),
        cmocka_unit_test_setup_teardown(crossing_of_exact_data, setup, teardown),
        cmocka_unit_test_setup_teardown(limits_outside_the_trial, setup, teardown),
        cmocka_unit_test_setup_teardown(crossing_by_bracket, setup, teardown),
        cmocka_unit_test_setup_teardown(crossing_in_other_units, setup, teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
