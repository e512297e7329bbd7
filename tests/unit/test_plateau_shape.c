/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When a plateau is told from curves that never level off, and when its interval is open. */
#include <math.h>

#include "near.h"
#include "plateau/math.h"
#include "simulate.h"

#define SETTINGS 8
#define SHOTS 3
#define ROWS (SETTINGS * SHOTS)

/* Shot sd and condition sd alike. */
static void draw(double (*curve)(double x), double first, double sd, uint64_t seed, double *x,
                 double *y)
{
    struct sim_stream s = {seed * 0xD1342543DE82EF95u + 0x632BE59BD9B4E019u};
    for (size_t i = 0; i < SETTINGS; i++) {
        double at = first + (double)i, off = sd * sim_normal(&s);
        for (size_t j = 0; j < SHOTS; j++) {
            x[i * SHOTS + j] = at;
            y[i * SHOTS + j] = curve(at) + off + sd * sim_normal(&s);
        }
    }
}

static struct plateau_answer find(struct arena *a, const double *x, const double *y,
                                  double tolerance)
{
    struct plateau_options o = {.tolerance_absolute = tolerance,
                                .tolerance_relative = PL_NAN,
                                .step = 0.0,
                                .confidence = 0.95,
                                .direction = 1};
    struct math_blocks b;
    struct plateau_answer r;
    struct error e = {.code = ERR_NONE};
    math_blocks_make(a, x, y, ROWS, &b);
    assert_int_equal(plateau_find(a, &b, &o, &r, &e), ERR_NONE);
    return r;
}

static double shallow_logarithm(double x)
{
    return 20.0 + 0.1 * log(x);
}

static double late_exponential(double x)
{
    return 62.40 - 0.30 * exp(-(x - 9.1) / 0.8);
}

static double gompertz(double x)
{
    return 21.5 - 1.2 * -expm1(-exp(-(x - 3.5) / 0.55));
}

/* A logarithm of 0.1 g with scatter from condition to condition was called a plateau in 28 % of
 * trials (42 of 150) as long as a plateau was told from straight lines alone, by rows. */
static void a_logarithm_is_no_plateau(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    size_t claimed = 0;
    double x[ROWS], y[ROWS];
    for (uint64_t seed = 0; seed < 100; seed++) {
        draw(shallow_logarithm, 2.0, 0.0065, seed, x, y);
        struct plateau_answer r = find(a, x, y, 0.0215);
        claimed += isfinite(r.value) || isfinite(r.bound);
    }
    assert_true(claimed <= 3); /* more than 3 of 100 come once in 600 times at 0.5 % */
    arena_free(a);
}

/* Settings that begin far from zero leave the exponent of a stretched exponential free upwards: its
 * interval was open at the top, and nothing bounded, in two thirds of such trials. */
static void a_settled_dimension_is_bounded(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    double x[ROWS], y[ROWS];
    const double truth = 9.1 + 0.8 * log(0.30 / 0.024);
    for (uint64_t seed = 0; seed < 30; seed++) {
        draw(late_exponential, 9.1, 0.0036, seed, x, y);
        struct plateau_answer r = find(a, x, y, 0.024);
        assert_int_equal(r.state, PLATEAU_FOUND);
        assert_true(isfinite(r.bound) && r.low <= truth && r.family[FAMILY_STRETCHED].tried);
        if (r.family[FAMILY_STRETCHED].in_play)
            assert_true(isfinite(r.family[FAMILY_STRETCHED].answer_high));
    }
    arena_free(a);
}

/* Last two conditions that differ by chance alone left no neighbour bracket, and the interval of
 * the fitted curves ended before the truth of a curve outside the list in a fifth of trials. */
static void chance_leaves_the_bracket(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    size_t bracket = 0, covered = 0;
    double x[ROWS], y[ROWS], low = 2.0, high = 9.0;
    for (int i = 0; i < 60; i++) { /* where the curve is within 0.0215 g of its plateau */
        double middle = (low + high) / 2.0;
        if (21.5 - gompertz(middle) > 0.0215)
            low = middle;
        else
            high = middle;
    }
    for (uint64_t seed = 0; seed < 60; seed++) {
        draw(gompertz, 2.0, 0.013, seed, x, y);
        struct plateau_answer r = find(a, x, y, 0.0215);
        bracket += isnan(r.bracket_high) ? 0 : 1;
        covered += r.low <= high && high <= r.high;
    }
    assert_true(bracket >= 55);
    assert_true(covered >= 55);
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_logarithm_is_no_plateau),
        cmocka_unit_test(a_settled_dimension_is_bounded),
        cmocka_unit_test(chance_leaves_the_bracket),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
