/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Knees of a melt that no curve of the list describes: a power law of two indexes with a kink. */
#include <math.h>

#include "near.h"
#include "plateau/math_viscosity.h"
#include "simulate.h"

#define FILLS 10
static const double fills[FILLS] = {5, 3.2, 2.2, 1.6, 1.2, 0.9, 0.7, 0.55, 0.45, 0.38};
static const struct visc_options options = {0.95, 0.001, 0.1, 0.10, 0.05};

static double kinked(double g)
{
    return g < 0.8 ? 60.0 * pow(g / 0.8, 0.6) : 60.0 * pow(g / 0.8, 0.25);
}

static double power(double g)
{
    return 60.0 * pow(g, 0.3);
}

static struct visc_answer solve(struct arena *a, double (*melt)(double g), uint64_t seed)
{
    struct visc_unit u[FILLS];
    struct visc_answer r;
    struct error e = {0};
    struct sim_stream s = {seed * 0xD1342543DE82EF95u + 1u};
    for (size_t i = 0; i < FILLS; i++) {
        double t[3], p[3];
        for (size_t j = 0; j < 3; j++) {
            t[j] = fills[i] * exp(0.002 * sim_normal(&s));
            p[j] = melt(1.0 / t[j]) * exp(0.005 * sim_normal(&s));
        }
        visc_unit_make(t, p, 3, &u[i]);
        u[i].group = i;
    }
    assert_int_equal(visc_solve(a, u, FILLS, &options, &r, &e), ERR_NONE);
    return r;
}

/* Where e(0.9 g) - e(g) = 0.05 (e(slowest) - e(fastest)) above the kink. Told was that a slower
 * fill does little at every tested fill: the curves bend where the melt has a kink. */
static void the_settings_around_a_kink_hold_the_knee(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    double limit = 0.05 * (5.0 * kinked(0.2) - 0.38 * kinked(1.0 / 0.38));
    double g = 0.8 * pow(limit / ((pow(0.9, -0.75) - 1.0) * 75.0), -1.0 / 0.75);
    for (uint64_t seed = 0; seed < 10; seed++) {
        struct visc_answer r = solve(a, kinked, seed);
        assert_int_equal(r.state, VISC_KNEE_FOUND);
        assert_true(r.sensitivity.low <= 1.0 / g && 1.0 / g <= r.sensitivity.high);
        assert_true(r.safe && r.sensitivity.low >= 0.5); /* and not all of the range */
    }
    arena_free(a);
}

static void a_power_law_is_left_alone(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    for (uint64_t seed = 0; seed < 10; seed++) {
        struct visc_answer r = solve(a, power, seed);
        assert_true(r.sensitivity.high / r.sensitivity.low < 1.1);
        assert_true(r.stick.high / r.stick.low < 1.1);
    }
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_settings_around_a_kink_hold_the_knee),
        cmocka_unit_test(a_power_law_is_left_alone),
    };
    return cmocka_run_group_tests_name("viscosity: knees without a curve", tests, NULL, NULL);
}
