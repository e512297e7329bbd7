/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Viscosity studies with a known truth, drawn with a fixed seed: how often the intervals hold it.
 * The cells and the bars stand here; a share passes when its 99 % Monte Carlo interval reaches the
 * bar. */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "near.h"
#include "plateau/math_viscosity.h"

#define FILLS 10
#define SHOTS 3
static const double fills[FILLS] = {5, 3.2, 2.2, 1.6, 1.2, 0.9, 0.7, 0.55, 0.45, 0.38};

struct cell {
    const char *name;
    size_t trials;
    double e_inf; /* P = 60 g^0.3 + e_inf g */
    double pressure_sd, time_sd, condition_sd, time_step;
};

/* ---- drawing: splitmix64, Box-Muller
 * ----------------------------------------------------------------
 */

static double uniform(uint64_t *s)
{
    uint64_t z = (*s += 0x9E3779B97F4A7C15u);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return ((double)((z ^ (z >> 31)) >> 11) + 0.5) / 9007199254740992.0;
}

static double normal(uint64_t *s)
{
    double r = sqrt(-2.0 * log(uniform(s)));
    return r * cos(6.283185307179586 * uniform(s));
}

static double truth(const struct cell *c, double g)
{
    return 60.0 * pow(g, 0.3) + c->e_inf * g;
}

static void draw(const struct cell *c, size_t trial, struct visc_unit *u)
{
    uint64_t s = 20251125u + 1000003u * trial;
    for (size_t i = 0; i < FILLS; i++) {
        double t[SHOTS], p[SHOTS], shift = c->condition_sd * normal(&s);
        for (size_t j = 0; j < SHOTS; j++) {
            double exact = fills[i] * exp(c->time_sd * normal(&s));
            p[j] = truth(c, 1.0 / exact) * exp(shift + c->pressure_sd * normal(&s));
            p[j] = round(p[j] * 10.0) / 10.0;
            t[j] = round(exact / c->time_step) * c->time_step;
        }
        visc_unit_make(t, p, SHOTS, &u[i]);
        u[i].group = i;
    }
}

static struct visc_options options(const struct cell *c)
{
    return (struct visc_options){0.95, c->time_step, 0.1, 0.10, 0.05};
}

static void assert_share(const char *what, const struct cell *c, size_t hits, double bar)
{
    double n = (double)c->trials, share = (double)hits / n;
    print_message("%s, %s: %.1f %% of %zu\n", c->name, what, 100.0 * share, c->trials);
    assert_true(share + 2.576 * sqrt(share * (1.0 - share) / n) >= bar);
}

/* ---- n of a power law
 * --------------------------------------------------------------------------------
 */

static void index_covers(void **state)
{
    (void)state;
    static const struct cell cells[] = {
        {"no condition scatter", 1000, 0, 0.01, 0.003, 0.00, 0.01},
        {"condition scatter as large as shot scatter", 1000, 0, 0.01, 0.003, 0.01, 0.01},
        {"condition scatter twice shot scatter", 1000, 0, 0.01, 0.003, 0.02, 0.01},
    };
    for (size_t k = 0; k < PL_COUNT(cells); k++) {
        struct arena *a = arena_new();
        struct visc_options o = options(&cells[k]);
        size_t hits = 0;
        for (size_t i = 0; i < cells[k].trials; i++) {
            struct visc_unit u[FILLS];
            struct visc_line line;
            struct error e = {0};
            draw(&cells[k], i, u);
            assert_int_equal(visc_line_fit(a, u, FILLS, &o, &line, &e), ERR_NONE);
            hits += line.slope_low <= 0.3 && 0.3 <= line.slope_high;
        }
        arena_free(a);
        assert_share("n", &cells[k], hits, 0.93);
        assert_true((double)hits >= 0.93 * (double)cells[k].trials);
    }
}

/* ---- knees and pressures
 * ------------------------------------------------------------------------------
 */

static bool holds(const struct visc_value *v, double truth_value)
{
    return v->low <= truth_value && truth_value <= v->high;
}

/* e_inf drops out of a difference of viscosities: both truths have the knee of the power law,
 * g^-0.7 = 0.05 (0.2^-0.7 - 0.38^0.7) / (0.9^-0.7 - 1). */
static void answers_cover(void **state)
{
    (void)state;
    static const struct cell cells[] = {
        {"power law", 120, 0, 0.01, 0.003, 0.01, 0.01},
        {"Sisko", 120, 6, 0.005, 0.001, 0.005, 0.001},
    };
    double knee =
        1.0 / pow(0.05 * (pow(0.2, -0.7) - pow(0.38, 0.7)) / (pow(0.9, -0.7) - 1.0), 1.0 / -0.7);
    for (size_t k = 0; k < PL_COUNT(cells); k++) {
        struct visc_options o = options(&cells[k]);
        size_t of_knee = 0, of_pressure = 0;
        for (size_t i = 0; i < cells[k].trials; i++) {
            struct arena *a = arena_new();
            struct visc_unit u[FILLS];
            struct visc_answer r;
            struct error e = {0};
            draw(&cells[k], i, u);
            assert_int_equal(visc_solve(a, u, FILLS, &o, &r, &e), ERR_NONE);
            struct visc_value p = visc_pressure_at(&r, 0.6);
            of_knee += holds(&r.sensitivity, knee);
            of_pressure += holds(&p, truth(&cells[k], 1.0 / 0.6));
            arena_free(a);
        }
        assert_share("sensitivity knee", &cells[k], of_knee, 0.93);
        assert_share("pressure at 0.6 s", &cells[k], of_pressure, 0.93);
    }
}

/* ---- a Sisko melt is told from a power law where that can be resolved
 * ---------------------------------- Distance of the truth from the nearest power law in standard
 * errors of the condition means; from 4.65 on the likelihood ratio test of the two, noise known,
 * errs in at most 1 % either way. */

static double distance(const struct cell *c)
{
    double mx = 0.0, my = 0.0, sxx = 0.0, sxy = 0.0, syy = 0.0;
    for (size_t i = 0; i < FILLS; i++) {
        mx -= log(fills[i]) / FILLS;
        my += log(truth(c, 1.0 / fills[i])) / FILLS;
    }
    for (size_t i = 0; i < FILLS; i++) {
        double x = -log(fills[i]) - mx, y = log(truth(c, 1.0 / fills[i])) - my;
        sxx += x * x;
        sxy += x * y;
        syy += y * y;
    }
    double variance = c->pressure_sd * c->pressure_sd / SHOTS + c->condition_sd * c->condition_sd;
    return sqrt((syy - sxy * sxy / sxx) / variance);
}

static size_t told_apart(const struct cell *c)
{
    struct visc_options o = options(c);
    size_t told = 0;
    for (size_t i = 0; i < c->trials; i++) {
        struct arena *a = arena_new();
        struct visc_unit u[FILLS];
        struct visc_answer r;
        struct error e = {0};
        draw(c, i, u);
        assert_int_equal(visc_solve(a, u, FILLS, &o, &r, &e), ERR_NONE);
        told += r.curved;
        arena_free(a);
    }
    return told;
}

static void sisko_is_told_apart(void **state)
{
    (void)state;
    static const struct cell resolvable[] = {
        {"Sisko, e_inf 2.14", 120, 2.14, 0.005, 0.0, 0.0, 0.001},
        {"Sisko, e_inf 4.7 with condition scatter", 120, 4.7, 0.005, 0.0, 0.005, 0.001},
    };
    static const struct cell power = {"power law", 120, 0, 0.005, 0.0, 0.01, 0.001};
    for (size_t k = 0; k < PL_COUNT(resolvable); k++) {
        double d = distance(&resolvable[k]);
        print_message("distance %.2f\n", d);
        assert_true(d >= 4.65);
        assert_share("told from a power law", &resolvable[k], told_apart(&resolvable[k]), 0.95);
    }
    size_t falsely = told_apart(&power);
    print_message("power law with condition scatter called curved: %zu of %zu\n", falsely,
                  power.trials);
    /* 5 % two-sided test; 99.9 % of such counts lie below 14 */
    assert_true(falsely < 14);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(index_covers),
        cmocka_unit_test(answers_cover),
        cmocka_unit_test(sisko_is_told_apart),
    };
    return cmocka_run_group_tests_name("viscosity coverage", tests, NULL, NULL);
}
