/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The plateau answer against closed forms, against profiles computed elsewhere, and on series whose
 * outcome is known. */
#include <math.h>

#include "near.h"
#include "plateau/math.h"
#include "simulate.h"

static struct plateau_answer answer_of(struct arena *a, const double *x, const double *y, size_t n,
                                       double relative, double step)
{
    struct math_blocks b;
    struct plateau_options o = {PL_NAN, relative, step, 0.95, 1};
    struct plateau_answer r;
    struct error e = {.code = ERR_NONE};
    math_blocks_make(a, x, y, n, &b);
    assert_int_equal(plateau_find(a, &b, &o, &r, &e), ERR_NONE);
    return r;
}

static int setup(void **state)
{
    *state = arena_new();
    return 0;
}

static int teardown(void **state)
{
    arena_free(*state);
    return 0;
}

/* Noise-free P - A max(0, c - x): the corner is c, the freeze time c - delta / A. */
static void exact_linear_plateau(void **state)
{
    const double corners[] = {3.2, 4.0, 5.37, 6.9};
    for (size_t k = 0; k < PL_COUNT(corners); k++) {
        double x[8], y[8], c = corners[k];
        for (size_t i = 0; i < 8; i++) {
            x[i] = 2.0 + (double)i;
            y[i] = 21.5 - 0.3 * fmax(0.0, c - x[i]);
        }
        struct plateau_answer r = answer_of(*state, x, y, 8, 0.001, 1e-9);
        assert_int_equal(r.state, PLATEAU_FOUND);
        assert_int_equal(r.best, FAMILY_LINEAR_PLATEAU);
        assert_lre(r.start, c, 6.0);
        assert_lre(r.value, c - 0.0215 / 0.3, 6.0);
        assert_true(r.low <= r.value && r.value <= r.high);
    }
}

/* A fall to a plateau is the mirror image of a rise. */
static void falls_like_it_rises(void **state)
{
    double x[24], y[24], z[24];
    struct sim_design d = {8, 3, 2.0, 9.0, 0.006, 0.0, 0.001};
    size_t n = sim_trial(SIM_EXPONENTIAL, &d, 3, x, y);
    for (size_t i = 0; i < n; i++)
        z[i] = 43.0 - y[i];
    struct math_blocks b;
    struct plateau_options o = {0.0215, PL_NAN, 0.001, 0.95, 1};
    struct plateau_answer up, down;
    struct error e = {.code = ERR_NONE};
    math_blocks_make(*state, x, y, n, &b);
    assert_int_equal(plateau_find(*state, &b, &o, &up, &e), ERR_NONE);
    math_blocks_make(*state, x, z, n, &b);
    o.direction = -1;
    assert_int_equal(plateau_find(*state, &b, &o, &down, &e), ERR_NONE);
    assert_int_equal(up.state, PLATEAU_FOUND);
    assert_lre(down.value, up.value, 9.0);
    assert_lre(down.low, up.low, 9.0);
    assert_lre(down.high, up.high, 9.0);
    assert_lre(43.0 - down.level, up.level, 10.0);
    assert_lre(43.0 - down.level_low, up.level_high, 9.0);
}

/* Linear-plateau on a simulated 8 x 3 study. Corner, residual sum and the exact 95 % profile
 * interval were computed independently in R (grid and root finding on the profile of the break
 * point): corner 5.608712407, residual sum 0.120915, interval 5.5279312 to 5.6936598. */
static void profile_of_the_corner(void **state)
{
    const double y[24] = {5.2,  5.37,  5.4,   6.72, 6.58,  6.6,   7.95,  7.81,
                          7.98, 9.29,  9.24,  9.13, 9.95,  10.12, 9.94,  10.01,
                          9.92, 10.09, 10.04, 9.97, 10.06, 9.9,   10.07, 10.02};
    double x[24];
    for (size_t i = 0; i < 24; i++)
        x[i] = 2.0 + (double)(i / 3);
    struct plateau_answer r = answer_of(*state, x, y, 24, 0.01, 0.01);
    const struct family_fit *f = &r.family[FAMILY_LINEAR_PLATEAU];
    assert_lre(f->start, 5.608712413261372, 12.0);
    assert_lre(f->rss, 0.120915, 5.0);
    assert_lre(f->value[0], 10.0075, 5.0);
    assert_lre(f->value[1], 1.297, 5.0);
    assert_lre(f->start_low, 5.5279312, 7.0);
    assert_lre(f->start_high, 5.6936598, 7.0);
    assert_lre(r.family[FAMILY_BROKEN_STICK].value[3], 5.609198356, 7.0);
}

/* Six single points: corner 3.479674802, residual sum 0.0616667, interval 3.2157846 to 3.8187277,
 * all computed independently in R. */
static void profile_on_six_points(void **state)
{
    const double x[6] = {1, 2, 3, 4, 5, 6}, y[6] = {2.1, 3.9, 6.2, 7.1, 7.0, 7.2};
    struct plateau_answer r = answer_of(*state, x, y, 6, 0.05, 0.1);
    const struct family_fit *f = &r.family[FAMILY_LINEAR_PLATEAU];
    assert_lre(f->start, 3.4796747967479673, 12.0);
    assert_lre(f->rss, 0.0616667, 5.0);
    assert_lre(f->start_low, 3.2157846, 7.0);
    assert_lre(f->start_high, 3.8187277, 7.0);
}

/* Three simulated hold-time series of an open data set (tmdt-buw,
 * continual-learning-mas-cloning-injection-molding): 3.0, 9.5, 16.0 s. */
static void three_simulated_series(void **state)
{
    const double x[3] = {3.0, 9.5, 16.0};
    const double frozen[3] = {62.535, 64.208, 64.214}, never[3] = {268.08, 276.025, 281.387};
    const double before[3] = {0.401, 0.401, 0.401};
    struct plateau_answer r = answer_of(*state, x, frozen, 3, 0.001, 0.001);
    assert_int_equal(r.state, PLATEAU_BRACKET_ONLY);
    assert_near(r.low, 3.0, 0.0, 0.0);
    assert_near(r.high, 9.5, 0.0, 0.0);
    assert_near(r.bound, 9.5, 0.0, 0.0);
    assert_int_equal(r.verdict, 0);
    r = answer_of(*state, x, never, 3, 0.001, 0.001);
    assert_int_equal(r.state, PLATEAU_NOT_REACHED);
    assert_true(isnan(r.bound) && isnan(r.value));
    r = answer_of(*state, x, before, 3, 0.001, 0.001);
    assert_int_equal(r.state, PLATEAU_BEFORE_FIRST);
    assert_true(isnan(r.value));
    assert_near(r.bound, 3.0, 0.0, 0.0);
}

/* A straight line has no freeze time, whatever the noise draws. */
static void straight_lines_never_freeze(void **state)
{
    const struct sim_design designs[] = {{8, 3, 2.0, 9.0, 0.00645, 0.0, 0.001},
                                         {8, 3, 2.0, 9.0, 0.0215, 0.0215, 0.001}};
    double x[24], y[24];
    for (size_t k = 0; k < PL_COUNT(designs); k++)
        for (uint64_t t = 0; t < 100; t++) {
            struct arena *a = arena_new();
            size_t n = sim_trial(SIM_LINE, &designs[k], t, x, y);
            struct plateau_answer r = answer_of(a, x, y, n, 0.001, 0.001);
            arena_free(a);
            assert_true(isnan(r.value));
            assert_true(isnan(r.bound));
        }
    (void)state;
}

/* Scaling of either axis changes nothing but the units. */
static void units_do_not_matter(void **state)
{
    double x[24], y[24], xs[24], ys[24];
    struct sim_design d = {8, 3, 2.0, 9.0, 0.006, 0.006, 0.001};
    for (uint64_t t = 0; t < 20; t++) {
        size_t n = sim_trial((enum sim_truth)(t % 6), &d, 1000 + t, x, y);
        for (size_t i = 0; i < n; i++) {
            xs[i] = x[i] / 60.0;
            ys[i] = y[i] / 28.349523125;
        }
        struct plateau_answer a = answer_of(*state, x, y, n, 0.001, 0.001);
        struct plateau_answer b = answer_of(*state, xs, ys, n, 0.001, 0.001 / 28.349523125);
        assert_int_equal(a.state, b.state);
        assert_int_equal(a.best, b.best);
        assert_lre(b.value * 60.0, a.value, 9.5);
        assert_lre(b.high * 60.0, a.high, 9.5);
        if (isfinite(a.low))
            assert_lre(b.low * 60.0, a.low, 9.5);
        assert_lre(b.level * 28.349523125, a.level, 9.5);
    }
}

/* All weights equal, one hold time, two hold times: an answer, never a crash. */
static void degenerate_input(void **state)
{
    const double x[6] = {2, 2, 3, 3, 4, 4}, same[6] = {5, 5, 5, 5, 5, 5};
    struct plateau_answer r = answer_of(*state, x, same, 6, 0.001, 0.001);
    assert_int_equal(r.state, PLATEAU_BEFORE_FIRST);
    r = answer_of(*state, x, same, 2, 0.001, 0.001);
    assert_int_equal(r.state, PLATEAU_UNDECIDED);
    assert_true(isnan(r.bound));
    r = answer_of(*state, x, same, 1, 0.001, 0.0);
    assert_int_equal(r.state, PLATEAU_UNDECIDED);
    const double rising[4] = {5.0, 5.001, 6.0, 6.001};
    r = answer_of(*state, x, rising, 4, 0.001, 0.001);
    assert_int_equal(r.state, PLATEAU_NOT_REACHED);
    const double falling[16] = {9, 9.01, 8, 8.01, 7, 7.01, 6, 6.01,
                                5, 5.01, 4, 4.01, 3, 3.01, 2, 2.01};
    double x8[16];
    for (size_t i = 0; i < 16; i++)
        x8[i] = (double)(i / 2);
    r = answer_of(*state, x8, falling, 16, 0.001, 0.01);
    assert_true(isnan(r.bound) && isnan(r.value));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(exact_linear_plateau, setup, teardown),
        cmocka_unit_test_setup_teardown(falls_like_it_rises, setup, teardown),
        cmocka_unit_test_setup_teardown(profile_of_the_corner, setup, teardown),
        cmocka_unit_test_setup_teardown(profile_on_six_points, setup, teardown),
        cmocka_unit_test_setup_teardown(three_simulated_series, setup, teardown),
        cmocka_unit_test_setup_teardown(straight_lines_never_freeze, setup, teardown),
        cmocka_unit_test_setup_teardown(units_do_not_matter, setup, teardown),
        cmocka_unit_test_setup_teardown(degenerate_input, setup, teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
