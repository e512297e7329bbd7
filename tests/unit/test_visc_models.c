/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Curves, knees and intervals of the viscosity models. */
#include <math.h>
#include <string.h>

#include "math/visc_internal.h"
#include "near.h"

#define FILLS 10
static const double fills[FILLS] = {5, 3.2, 2.2, 1.6, 1.2, 0.9, 0.7, 0.55, 0.45, 0.38};
static const struct visc_options plain = {0.95, 0.0, 0.0, 0.10, 0.05};

/* P(g), with a fixed pattern of relative errors of the size `noise`, three shots each */
static void make(double (*p)(double g), double noise, struct visc_unit *u)
{
    static const int pattern[] = {3, -4, 1, -2, 5, -1, 4, -3, 0, -5, 2, 4, -1, 1, -4, 0};
    for (size_t i = 0; i < FILLS; i++) {
        double t[3], y[3];
        for (size_t j = 0; j < 3; j++) {
            t[j] = fills[i];
            y[j] =
                p(1.0 / t[j]) * (1.0 + noise * pattern[(i * 5 + j * 7) % PL_COUNT(pattern)] / 3.0);
        }
        visc_unit_make(t, y, 3, &u[i]);
        u[i].group = i;
    }
}

static double power(double g)
{
    return 50.0 * pow(g, 0.35);
}
static double sisko(double g)
{
    return 40.0 * pow(g, 0.25) + 15.0 * g;
}
static double cross(double g)
{
    return 90.0 * g / (1.0 + pow(1.2 * g, 0.7));
}
static double carreau(double g)
{
    return 80.0 * g * pow(1.0 + 2.25 * g * g, -0.3);
}
static double bent(double g)
{
    return 60.0 * g * pow(1.0 + 4.0 * g * g, -0.35);
}
static double newtonian(double g)
{
    return 30.0 * g;
}

static void gradients_are_derivatives(void **state)
{
    (void)state;
    const double h = 1e-6;
    for (int id = 0; id < VISC_MODELS; id++)
        for (double tau = -9.0; tau < 10.0; tau += 2.7)
            for (double x = -1.5; x < 1.6; x += 0.6) {
                enum visc_model_id m = (enum visc_model_id)id;
                double theta[2] = {0.37, tau}, d[2] = {0.0, 0.0};
                visc_curve_gradient(m, theta, x, d);
                for (size_t k = 0; k < visc_theta(m); k++) {
                    double up[2] = {theta[0], theta[1]}, down[2] = {theta[0], theta[1]};
                    up[k] += h;
                    down[k] -= h;
                    assert_near(d[k], (visc_curve(m, up, x) - visc_curve(m, down, x)) / (2.0 * h),
                                1e-6, 1e-8);
                }
                assert_near(visc_curve_slope(m, theta, x),
                            (visc_curve(m, theta, x + h) - visc_curve(m, theta, x - h)) / (2.0 * h),
                            1e-6, 1e-8);
            }
}

/* Without noise every model finds its own parameters, in the caller's units. */
static void own_parameters(void **state)
{
    (void)state;
    static const struct {
        double (*p)(double g);
        enum visc_model_id id;
        double value[3];
    } cases[] = {{power, VISC_POWER, {50.0, 0.35, 0.0}},
                 {sisko, VISC_SISKO, {15.0, 40.0, 0.25}},
                 {cross, VISC_CROSS, {90.0, 1.2, 0.3}},
                 {carreau, VISC_CARREAU, {80.0, 1.5, 0.4}}};
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        struct arena *a = arena_new();
        struct visc_unit u[FILLS];
        struct visc_answer r;
        struct error e = {0};
        make(cases[i].p, 0.0, u);
        assert_int_equal(visc_solve(a, u, FILLS, &plain, &r, &e), ERR_NONE);
        assert_int_equal(r.best, (int)cases[i].id);
        for (size_t k = 0; k < r.model[r.best].p; k++)
            assert_lre(r.model[r.best].value[k], cases[i].value[k], 7);
        assert_lre(visc_pressure(&r, cases[i].id, 1.7), cases[i].p(1.0 / 1.7), 9);
        arena_free(a);
    }
}

/* Seconds to minutes and MPa to psi: parameters carry their units, fill times follow, the rest
 * stays. */
static void units_do_not_matter(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_unit u[FILLS], v[FILLS];
    struct visc_answer r, s;
    struct error e = {0};
    make(sisko, 0.004, u);
    memcpy(v, u, sizeof u);
    for (size_t i = 0; i < FILLS; i++) {
        v[i].log_t -= log(60.0);
        v[i].log_p += log(145.037737730);
    }
    assert_int_equal(visc_solve(a, u, FILLS, &plain, &r, &e), ERR_NONE);
    assert_int_equal(visc_solve(a, v, FILLS, &plain, &s, &e), ERR_NONE);
    assert_lre(s.line.slope_low, r.line.slope_low, 10);
    assert_lre(60.0 * s.sensitivity.value, r.sensitivity.value, 10);
    assert_lre(60.0 * s.sensitivity.low, r.sensitivity.low, 8);
    assert_lre(60.0 * s.sensitivity.high, r.sensitivity.high, 8);
    assert_lre(60.0 * s.stick.value, r.stick.value, 9);
    assert_lre(60.0 * s.chord.value, r.chord.value, 7);
    assert_int_equal(s.best, r.best);
    assert_int_equal(s.power_in_play, r.power_in_play);
    arena_free(a);
}

/* The profile region of n in the power law is its t interval, here under either law of scatter: no
 * scan needed to know it. */
static void region_of_the_power_law(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_unit u[FILLS];
    struct visc_answer r;
    struct error e = {0};
    make(power, 0.004, u);
    assert_int_equal(visc_solve(a, u, FILLS, &plain, &r, &e), ERR_NONE);
    const struct visc_regions *g = r.regions;
    double low = PL_INF, high = -PL_INF;
    size_t laws = 0;
    for (size_t i = 0; i < g->n; i++)
        for (size_t k = 0; k < g->region[i].n && g->region[i].id == VISC_POWER; k++) {
            low = fmin(low, g->region[i].point[k].theta[0]);
            high = fmax(high, g->region[i].point[k].theta[0]);
            laws += k == 0;
        }
    assert_true(r.line.either_law);
    assert_int_equal(laws, 2);
    assert_lre(low, r.line.slope_low, 8);
    assert_lre(high, r.line.slope_high, 8);
    /* a pressure at the centre of the line: t interval of its height */
    struct visc_value v = visc_pressure_at(&r, exp(-r.line.log_center));
    assert_true(v.low < v.value && v.value < v.high);
    struct visc_value t = visc_time_at_pressure(&r, v.value);
    assert_lre(t.value, exp(-r.line.log_center), 9);
    assert_true(t.low < t.value && t.value < t.high);
    arena_free(a);
}

static void no_knee_where_viscosity_does_not_fall(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_unit u[FILLS];
    struct visc_answer r;
    struct error e = {0};
    make(newtonian, 0.0, u);
    assert_int_equal(visc_solve(a, u, FILLS, &plain, &r, &e), ERR_NONE);
    assert_lre(r.line.slope, 1.0, 9);
    assert_int_equal(r.state == VISC_KNEE_FOUND, false);
    assert_true(isnan(r.sensitivity.value));
    arena_free(a);
}

/* Power law over a range r: not even the fastest holds while (0.9^(n-1) - 1) r^(n-1) > 0.05 (1 -
 * r^(n-1)); with n = 0.35 that is r < 3.89. */
static void narrow_range_has_no_knee(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_unit u[4];
    struct visc_answer r;
    struct error e = {0};
    const double factor[2] = {3.5, 4.0};
    for (int k = 0; k < 2; k++) {
        for (size_t i = 0; i < 4; i++) {
            double t = pow(factor[k], -(double)i / 3.0), p = power(1.0 / t);
            visc_unit_make(&t, &p, 1, &u[i]);
            u[i].group = i;
        }
        assert_int_equal(visc_solve(a, u, 4, &plain, &r, &e), ERR_NONE);
        assert_int_equal(r.state, k == 0 ? VISC_KNEE_NOT_REACHED : VISC_KNEE_FOUND);
        assert_int_equal(r.model[VISC_SISKO].tried, false);
        assert_true(r.follows_range);
    }
    arena_free(a);
}

static void solve(double (*p)(double g), struct arena *a, struct visc_answer *r)
{
    struct visc_unit u[FILLS];
    struct error e = {0};
    make(p, 0.002, u);
    assert_int_equal(visc_solve(a, u, FILLS, &plain, r, &e), ERR_NONE);
    assert_int_equal(r->state, VISC_KNEE_FOUND);
    assert_true(r->curved && !r->power_in_play && r->safe);
    /* the interval of the effect at the fastest setting lies below the tolerance */
    assert_true(r->effect_at_fastest.high < 0.05);
}

/* Dropping the slowest setting of a Sisko melt changes the fall, and the knee with it: curved, but
 * no knee of its own. A melt that is flat below its bend has one. */
static void knee_of_its_own(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct visc_answer r;
    solve(sisko, a, &r);
    assert_true(r.follows_range);
    assert_true(r.without_slowest < 0.75 * r.sensitivity.value);
    solve(bent, a, &r);
    assert_false(r.follows_range);
    assert_near(r.without_slowest, r.sensitivity.value, 0.25, 0);
    assert_near(r.without_fastest, r.sensitivity.value, 0.25, 0);
    arena_free(a);
}

/* Points on two lines meeting at 3: the break is exactly there; four points are the least. */
static void broken_stick_exactly(void **state)
{
    (void)state;
    const double x[6] = {0, 1, 2, 4, 5, 6}, y[6] = {9, 7, 5, 2, 1, 0};
    assert_lre(visc_broken_stick(x, y, 6), 3.0, 10);
    assert_true(isnan(visc_broken_stick(x, y, 3)));
    const double corner[5] = {4, 3, 2, 2, 2}, at[5] = {0, 1, 2, 3, 4};
    assert_lre(visc_broken_stick(at, corner, 5), 2.0, 10);
    /* two settings that filled in the same time stand on one another at an end */
    const double twice[] = {1.0, 1.0, 2.0, 3.0, 4.0, 4.0}, bent[] = {3.0, 3.0, 1.0, 0.9, 0.8, 0.8};
    double psi = visc_broken_stick(twice, bent, 6);
    assert_true(isnan(psi) || (psi > 1.0 && psi < 4.0));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gradients_are_derivatives),
        cmocka_unit_test(own_parameters),
        cmocka_unit_test(units_do_not_matter),
        cmocka_unit_test(region_of_the_power_law),
        cmocka_unit_test(no_knee_where_viscosity_does_not_fall),
        cmocka_unit_test(narrow_range_has_no_knee),
        cmocka_unit_test(knee_of_its_own),
        cmocka_unit_test(broken_stick_exactly),
    };
    return cmocka_run_group_tests_name("viscosity: models", tests, NULL, NULL);
}
