/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Weights, scatter and intervals of the straight line; presses that did not do what they were told.
 */
#include <math.h>

#include "near.h"
#include "plateau/math_viscosity.h"

static const struct visc_options plain = {0.95, 0.0, 0.0, 0.10, 0.05};

static void unit_by_hand(void **state)
{
    (void)state;
    /* ln t = 0, 2 (mean 1, ss 2); ln p = 3, 1 (mean 2, ss 2); products -1 x 1 + 1 x -1 = -2 */
    const double t[2] = {1.0, exp(2.0)}, p[2] = {exp(3.0), exp(1.0)};
    struct visc_unit u;
    visc_unit_make(t, p, 2, &u);
    assert_int_equal(u.n, 2);
    assert_lre(u.log_t, 1.0, 14);
    assert_lre(u.log_p, 2.0, 14);
    assert_lre(u.ss_t, 2.0, 14);
    assert_lre(u.ss_p, 2.0, 14);
    assert_lre(u.ss_tp, -2.0, 14);
}

static struct visc_unit unit(double t, double p, size_t n, size_t group)
{
    return (struct visc_unit){.n = n, .log_t = log(t), .log_p = log(p), .group = group};
}

static void refuses_what_is_no_line(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_line line;
    struct error e = {0};
    struct visc_unit u[2] = {unit(1, 10, 3, 0), unit(2, 9, 3, 0)};
    assert_int_equal(visc_line_fit(a, u, 2, &plain, &line, &e), ERR_NUMERIC); /* one setting */
    u[1] = unit(1, 9, 3, 1);
    e = (struct error){0};
    assert_int_equal(visc_line_fit(a, u, 2, &plain, &line, &e), ERR_NUMERIC); /* one fill time */
    u[1].log_p = PL_NAN;
    e = (struct error){0};
    assert_int_equal(visc_line_fit(a, u, 2, &plain, &line, &e), ERR_NUMERIC);
    arena_free(a);
}

/* s_P^2 = s_t^2 = 0 within units, timer step 0.1 s: variances n^2 (0.1/t)^2/12, so the weights of
 * t = 1, 2, 4 stand as 1 : 4 : 16, and their sum is the number of rows, 6. */
static void timer_decides_the_weights(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_options o = plain;
    struct visc_line line;
    struct error e = {0};
    struct visc_unit u[3] = {unit(1, 100, 2, 0), unit(2, 80, 2, 1), unit(4, 65, 2, 2)};
    o.time_step = 0.1;
    assert_int_equal(visc_line_fit(a, u, 3, &o, &line, &e), ERR_NONE);
    assert_lre(line.weight[0], 6.0 / 21.0, 12);
    assert_lre(line.weight[1], 24.0 / 21.0, 12);
    assert_lre(line.weight[2], 96.0 / 21.0, 12);
    arena_free(a);
}

/* Scatter in P of 1 % beside a timer error of 0.029 % at t = 1: the timer hardly counts. */
static void pressure_scatter_evens_the_weights(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_options o = plain;
    struct visc_line line;
    struct error e = {0};
    struct visc_unit u[3] = {unit(1, 100, 2, 0), unit(2, 80, 2, 1), unit(4, 65, 2, 2)};
    for (int i = 0; i < 3; i++)
        u[i].ss_p = 0.01 * 0.01;
    o.time_step = 0.001;
    assert_int_equal(visc_line_fit(a, u, 3, &o, &line, &e), ERR_NONE);
    assert_near(line.weight[0], 2.0, 1e-3, 0);
    assert_near(line.weight[2], 2.0, 1e-3, 0);
    assert_lre(line.s_p, 0.01, 12);
    assert_near(line.s_t, 0.0, 0, 0);
    /* ln P + n ln t: the fill times repeat exactly, so only the pressure counts */
    assert_lre(line.shot_sd, 0.01, 12);
    arena_free(a);
}

/* Pressures 100, 50, 25 that scatter by one amount in MPa: as shares 1 : 2 : 4, as variances around
 * the middle h = 1/4, 1, 4. Twice the difference of the ln likelihoods is dof ln((1/4 + 1 + 4) / 3)
 * = 0.5596 dof for the law that the scatter follows: 1.68 with two shots each, 3.36 with three; the
 * other law is refuted from 1.6449^2 = 2.71 on. Alike in MPa, weights stand as P^2, 16 : 4 : 1. */
static void scatter_alike_in_pressure(void **state)
{
    (void)state;
    for (size_t n = 2; n <= 3; n++)
        for (int alike = 0; alike < 2; alike++) {
            struct arena *a = arena_new();
            struct visc_line line;
            struct error e = {0};
            struct visc_unit u[3] = {unit(1, 100, n, 0), unit(2, 50, n, 1), unit(4, 25, n, 2)};
            for (int i = 0; i < 3; i++)
                u[i].ss_p =
                    (double)(n - 1) * 1e-6 * (alike ? exp(-2.0 * u[i].log_p) * 2500.0 : 1.0);
            assert_int_equal(visc_line_fit(a, u, 3, &plain, &line, &e), ERR_NONE);
            assert_int_equal(line.law, alike ? VISC_ALIKE : VISC_SHARE);
            assert_int_equal(line.either_law, n == 2);
            assert_lre(line.weight[0], (double)n * (alike ? 16.0 / 7.0 : 1.0), 12);
            assert_lre(line.weight[1], (double)n * (alike ? 4.0 / 7.0 : 1.0), 12);
            assert_lre(line.weight[2], (double)n * (alike ? 1.0 / 7.0 : 1.0), 12);
            arena_free(a);
        }
}

/* Nothing scatters, or nothing repeats: then nothing tells. */
static void no_scatter_no_law(void **state)
{
    (void)state;
    for (size_t n = 1; n <= 2; n++) {
        struct arena *a = arena_new();
        struct visc_line line;
        struct error e = {0};
        struct visc_unit u[3] = {unit(1, 100, n, 0), unit(2, 50, n, 1), unit(4, 26, n, 2)};
        assert_int_equal(visc_line_fit(a, u, 3, &plain, &line, &e), ERR_NONE);
        assert_int_equal(line.law, VISC_SHARE);
        assert_false(line.either_law);
        arena_free(a);
    }
}

/* A slow shot has a low pressure: what moves along the line is no scatter around it. */
static void correlated_shots_do_not_count(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_line line;
    struct error e = {0};
    struct visc_unit u[4];
    for (size_t i = 0; i < 4; i++) {
        double t[3], p[3];
        for (int j = 0; j < 3; j++) {
            t[j] = pow(2.0, (double)i) * (1.0 + 0.02 * (j - 1));
            p[j] = 50.0 * pow(t[j], -0.4);
        }
        visc_unit_make(t, p, 3, &u[i]);
        u[i].group = i;
    }
    assert_int_equal(visc_line_fit(a, u, 4, &plain, &line, &e), ERR_NONE);
    assert_lre(line.slope, 0.4, 12);
    assert_near(line.shot_sd, 0.0, 0, 1e-9);
    assert_near(line.s_p, 0.4 * line.s_t, 1e-9, 0);
    arena_free(a);
}

/* Two visits of one setting 4 % apart, no scatter inside: sd of the visits 0.04 / sqrt(2). */
static void revisit_gives_scatter_of_units(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_line line;
    struct error e = {0};
    struct visc_unit u[4] = {unit(1, 100, 2, 0), unit(2, 80, 2, 1), unit(4, 65, 2, 2),
                             unit(1, 100 * exp(0.04), 2, 0)};
    assert_int_equal(visc_line_fit(a, u, 4, &plain, &line, &e), ERR_NONE);
    assert_int_equal(line.n_groups, 3);
    assert_lre(line.revisit_sd, 0.04 / sqrt(2.0), 10);
    arena_free(a);
}

/* Means exactly on a line, readings in whole bars: the interval is what the rounding leaves.
 * Weights 2, x = -ln 2, 0, ln 2 around their mean: Sxx = 4 ln(2)^2. Pressures 40, 20, 10 with step
 * 1 MPa, no scatter inside, so a mean keeps the whole rounding: per row of weight 1 it is 1/12
 * (1/40^2 + 1/20^2 + 1/10^2) / 3 = 3.6458e-4; per unit of weight 2 twice that. The interval of unit
 * means: t(0.975; 1) = 12.7062 times sqrt(2 x 3.6458e-4 / (4 x 0.480453)) = 0.24749. */
static void rounding_is_the_floor(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_options o = plain;
    struct visc_line line;
    struct error e = {0};
    struct visc_unit u[3] = {unit(1, 40, 2, 0), unit(2, 20, 2, 1), unit(4, 10, 2, 2)};
    o.pressure_step = 1.0;
    assert_int_equal(visc_line_fit(a, u, 3, &o, &line, &e), ERR_NONE);
    assert_lre(line.slope, 1.0, 12);
    assert_near(line.slope_high - line.slope, 0.24749, 1e-4, 0);
    arena_free(a);
}

/* ---- limited
 * -------------------------------------------------------------------------------------- */

#define N 6
static void make(double *speed, struct visc_unit *u)
{
    for (size_t i = 0; i < N; i++) {
        speed[i] = 20.0 * pow(1.6, (double)i);
        double t = 0.05 + 60.0 / speed[i];
        u[i] = unit(t, 50.0 * pow(t, -0.3), 3, i);
        u[i].ss_p = 2.0 * 0.01 * 0.01;
        u[i].ss_t = 2.0 * 0.002 * 0.002;
    }
}

static void free_press_is_left_alone(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_unit u[N];
    struct visc_doubt d[N];
    double speed[N], none[N];
    make(speed, u);
    for (int i = 0; i < N; i++)
        none[i] = PL_NAN;
    visc_find_limited(a, u, N, none, none, speed, &plain, d);
    for (int i = 0; i < N; i++)
        assert_int_equal(d[i].what, VISC_FREE);
    arena_free(a);
}

static void known_limit_within_two_percent(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_unit u[N];
    struct visc_doubt d[N];
    double speed[N], peak[N], limit[N];
    make(speed, u);
    for (int i = 0; i < N; i++) {
        peak[i] = exp(u[i].log_p);
        limit[i] = 200.0;
    }
    peak[5] = 0.981 * 200.0;
    peak[4] = 0.979 * 200.0;
    visc_find_limited(a, u, N, peak, limit, speed, &plain, d);
    assert_int_equal(d[5].what, VISC_PRESSURE_LIMITED);
    assert_true(d[5].at_limit);
    assert_int_equal(d[4].what, VISC_FREE);
    arena_free(a);
}

/* The two fastest hang at one pressure while their times float: each hides the other from a line
 * through all the rest. */
static void two_limited_do_not_hide_each_other(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_unit u[N];
    struct visc_doubt d[N];
    double speed[N], none[N];
    make(speed, u);
    for (size_t i = 0; i < N; i++)
        none[i] = PL_NAN;
    for (size_t i = 4; i < N; i++) {
        u[i].log_p = u[3].log_p - 0.02;
        u[i].ss_p = 2.0 * 0.001 * 0.001;
        u[i].ss_t = 2.0 * 0.02 * 0.02;
    }
    visc_find_limited(a, u, N, none, none, none, &plain, d);
    for (int i = 0; i < N; i++)
        assert_int_equal(d[i].what, i >= 4 ? VISC_PRESSURE_LIMITED : VISC_FREE);
    arena_free(a);
}

/* Low pressure alone is no limit: the time must float while the pressure repeats. */
static void low_pressure_alone_is_no_limit(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_unit u[N];
    struct visc_doubt d[N];
    double speed[N], none[N];
    make(speed, u);
    for (int i = 0; i < N; i++)
        none[i] = PL_NAN;
    u[5].log_p -= 0.2;
    visc_find_limited(a, u, N, none, none, none, &plain, d);
    assert_int_equal(d[5].what, VISC_FREE);
    arena_free(a);
}

/* A melt that bends lies 6 % below the line of the others at both ends. Where by chance the
 * pressure repeats better than the time there, that is no limit (it was called one in every sixth
 * trial). */
static void a_melt_that_bends_is_no_limit(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_unit u[10];
    struct visc_doubt d[10];
    const double fill[10] = {5, 3.2, 2.2, 1.6, 1.2, 0.9, 0.7, 0.55, 0.45, 0.38};
    double speed[10], none[10];
    for (size_t i = 0; i < 10; i++) {
        double g = 1.0 / fill[i];
        u[i] = unit(fill[i], 150.0 * g * pow(1.0 + 6.25 * g * g, -0.33), 3, i);
        u[i].ss_p = 2.0 * 0.005 * 0.005;
        u[i].ss_t = 2.0 * 0.002 * 0.002;
        none[i] = PL_NAN;
        speed[i] = 100.0 * g;
    }
    u[0].ss_p = u[9].ss_p = 2.0 * 0.001 * 0.001;
    u[0].ss_t = u[9].ss_t = 2.0 * 0.004 * 0.004;
    visc_find_limited(a, u, 10, none, none, speed, &plain, d);
    for (int i = 0; i < 10; i++)
        assert_int_equal(d[i].what, VISC_FREE);
    u[9].log_p -= 0.15; /* and one that hangs at a limit is told all the same */
    visc_find_limited(a, u, 10, none, none, speed, &plain, d);
    assert_int_equal(d[9].what, VISC_PRESSURE_LIMITED);
    arena_free(a);
}

static void speed_not_reached(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_unit u[N];
    struct visc_doubt d[N];
    double speed[N], none[N];
    make(speed, u);
    for (int i = 0; i < N; i++)
        none[i] = PL_NAN;
    for (size_t i = 4; i < N; i++) /* the screw tops out at the fourth speed */
        u[i].log_t = u[3].log_t;
    visc_find_limited(a, u, N, none, none, speed, &plain, d);
    assert_int_equal(d[3].what, VISC_FREE);
    assert_int_equal(d[4].what, VISC_SPEED_NOT_REACHED);
    assert_int_equal(d[5].what, VISC_SPEED_NOT_REACHED);
    assert_near(d[5].off, exp(u[3].log_t) / (0.05 + 60.0 / speed[5]) - 1.0, 1e-9, 0);
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(unit_by_hand),
        cmocka_unit_test(refuses_what_is_no_line),
        cmocka_unit_test(timer_decides_the_weights),
        cmocka_unit_test(pressure_scatter_evens_the_weights),
        cmocka_unit_test(scatter_alike_in_pressure),
        cmocka_unit_test(no_scatter_no_law),
        cmocka_unit_test(correlated_shots_do_not_count),
        cmocka_unit_test(revisit_gives_scatter_of_units),
        cmocka_unit_test(rounding_is_the_floor),
        cmocka_unit_test(free_press_is_left_alone),
        cmocka_unit_test(known_limit_within_two_percent),
        cmocka_unit_test(two_limited_do_not_hide_each_other),
        cmocka_unit_test(low_pressure_alone_is_no_limit),
        cmocka_unit_test(a_melt_that_bends_is_no_limit),
        cmocka_unit_test(speed_not_reached),
    };
    return cmocka_run_group_tests_name("viscosity: line and limits", tests, NULL, NULL);
}
