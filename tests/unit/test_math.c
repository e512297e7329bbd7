/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Blocks, quantiles, scatter, verdict of flatness, next shots. */
#include <math.h>

#include "math/plateau_internal.h"
#include "near.h"
#include "plateau/math.h"
#include "simulate.h"

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

static struct plateau_options options(double absolute)
{
    return (struct plateau_options){absolute, PL_NAN, 0.001, 0.95, 1};
}

static struct plateau_answer find(struct arena *a, const double *x, const double *y, size_t n,
                                  double absolute, struct math_blocks *b)
{
    struct plateau_options o = options(absolute);
    struct plateau_answer r;
    struct error e = {.code = ERR_NONE};
    math_blocks_make(a, x, y, n, b);
    assert_int_equal(plateau_find(a, b, &o, &r, &e), ERR_NONE);
    return r;
}

/* Printed tables: t(0.975; 4) = 2.776, t(0.95; 10) = 1.812; F upper 5 % point of (2, 12) = 3.885.
 */
static void quantiles(void **state)
{
    (void)state;
    assert_near(math_t_quantile(0.975, 4.0), 2.776, 0.0, 5e-4);
    assert_near(math_t_quantile(0.95, 10.0), 1.812, 0.0, 5e-4);
    assert_near(math_f_tail(3.885, 2.0, 12.0), 0.05, 0.0, 1e-4);
    assert_near(math_two_sided_p(2.776, 4.0), 0.05, 0.0, 1e-4);
    assert_true(isnan(math_t_quantile(0.975, 0.0)));
    assert_true(isnan(math_t_quantile(1.5, 3.0)));
    assert_true(isnan(math_f_tail(1.0, 0.0, 2.0)));
    assert_near(math_f_tail(-1.0, 2.0, 2.0), 1.0, 0.0, 0.0);
}

/* A setting visited twice: two blocks, one group; sums survive a large offset. */
static void blocks(void **state)
{
    const double x[7] = {6, 6, 3, 3, 3, 6, 6};
    const double off = 1e6, y[7] = {off + 1, off + 3, off + 5, off + 6, off + 7, off + 2, off + 2};
    struct math_blocks b;
    math_blocks_make(*state, x, y, 7, &b);
    assert_int_equal(b.n_blocks, 3);
    assert_int_equal(b.n_groups, 2);
    assert_near(b.group_x[0], 3.0, 0.0, 0.0);
    assert_int_equal(b.group_n[1], 4);
    assert_near(b.group_mean[1] - off, 2.0, 0.0, 1e-9);
    assert_near(b.b[1].mean - off, 6.0, 0.0, 1e-9);
    assert_near(b.b[0].ss, 2.0, 0.0, 1e-9);
    assert_near(b.sspe, 4.0, 0.0, 1e-8);
    assert_int_equal(b.b[0].group, 1);
    assert_int_equal(b.b[2].first, 5);
    math_blocks_make(*state, x, y, 1, &b);
    assert_int_equal(b.n_blocks, 1);
    assert_near(b.sspe, 0.0, 0.0, 0.0);
}

/* Pooled shot sd by hand: three pairs that differ by 0.02, 0.04 and 0: ss 0.0002 + 0.0008, 3 dof.
 */
static void scatter(void **state)
{
    const double x[8] = {1, 1, 2, 2, 3, 3, 4, 4};
    const double y[8] = {5.00, 5.02, 6.00, 6.04, 6.50, 6.50, 6.50, 6.50};
    struct math_blocks b;
    struct plateau_answer r = find(*state, x, y, 8, 0.1, &b);
    assert_int_equal(r.state, PLATEAU_BRACKET_ONLY);
    assert_lre(r.shot_sd, sqrt(0.001 / 4.0), 9.0);
    assert_near(r.shot_dof, 4.0, 0.0, 0.0);
    assert_near(r.bound, 3.0, 0.0, 0.0);
    /* flat to the last digit: rise 0, half-width t(0.95; 4) * sd * sqrt(2 / 2) = 2.13185 *
     * 0.0158114 */
    assert_near(r.rise, 0.0, 0.0, 1e-12);
    assert_near(r.rise_high, 2.131847 * 0.01581139, 1e-6, 0.0);
    assert_int_equal(r.verdict, 1);
}

/* A balance that prints 1 mg and counts in 20 mg; one that counts in what it prints; too few
 * readings. */
static void reading_step(void **state)
{
    (void)state;
    double v[24], w[24];
    struct sim_stream s = {5};
    for (size_t i = 0; i < 24; i++) {
        double x = 21.5 + sim_normal(&s);
        v[i] = round(x / 0.02) * 0.02;
        w[i] = round(x * 1000.0) / 1000.0;
    }
    assert_near(math_reading_step(v, 24, 0.001), 0.02, 1e-9, 0.0);
    assert_near(math_reading_step(w, 24, 0.001), 0.001, 1e-9, 0.0);
    assert_near(math_reading_step(v, 11, 0.001), 0.001, 1e-9, 0.0);
    for (size_t i = 0; i < 24; i++)
        v[i] = 7.0;
    assert_near(math_reading_step(v, 24, 0.001), 0.001, 1e-9, 0.0);
}

/* Too noisy to show flatness: that many shots more, drawn from what the data say, decide it. */
static void shots_to_decide(void **state)
{
    const double x[9] = {1, 1, 1, 2, 2, 2, 3, 3, 3};
    const double y[9] = {5.0, 5.1, 4.9, 6.00, 6.08, 5.92, 6.02, 6.08, 5.96};
    struct math_blocks b;
    struct plateau_options o = options(0.1);
    struct plateau_answer r = find(*state, x, y, 9, 0.1, &b);
    assert_int_equal(r.state, PLATEAU_BRACKET_ONLY);
    assert_int_equal(r.verdict, 0);
    int k = plateau_shots_to_decide(&b, &o, &r, b.group_x, b.n_groups);
    assert_in_range(k, 1, 75);
    size_t decided = 0, trials = 200, n;
    struct sim_stream s = {1};
    for (size_t t = 0; t < trials; t++) {
        struct arena *a = arena_new();
        double more_x[9 + 3 * 75], more_y[9 + 3 * 75];
        for (n = 0; n < 9; n++) {
            more_x[n] = x[n];
            more_y[n] = y[n];
        }
        for (size_t i = 0; i < 3; i++) {
            double off = r.shot_sd / sqrt(3.0) * sim_normal(&s); /* the mean is not known better */
            for (int j = 0; j < k; j++, n++) {
                more_x[n] = b.group_x[i];
                more_y[n] = b.group_mean[i] + off + r.shot_sd * sim_normal(&s);
            }
        }
        struct math_blocks then;
        decided += find(a, more_x, more_y, n, 0.1, &then).verdict != 0;
        arena_free(a);
    }
    print_message("%d shots more: decided in %zu of %zu\n", k, decided, trials);
    assert_in_range(decided, trials * 6 / 10, trials * 9 / 10);
}

static void next_shots_by_state(void **state)
{
    struct plateau_next next[2];
    struct math_blocks b;
    /* a bracket: the middle of its gap */
    const double x3[3] = {3.0, 9.5, 16.0}, frozen[3] = {62.535, 64.208, 64.214};
    struct plateau_answer r = find(*state, x3, frozen, 3, 0.064, &b);
    struct plateau_options o = options(0.064);
    size_t n = plateau_next_shots(&b, &o, &r, 0.1, 3, next);
    assert_int_equal(n, 1);
    assert_int_equal(next[0].kind, NEXT_MIDWAY);
    assert_near(next[0].at[0], 6.3, 0.0, 0.051); /* 6.25 at the press's step */
    assert_true(isnan(next[0].half_width_then)); /* single shots: no scatter to go by */
    /* never: longer times, by the last spacing */
    const double never[3] = {268.08, 276.025, 281.387};
    r = find(*state, x3, never, 3, 0.27, &b);
    o = options(0.27);
    n = plateau_next_shots(&b, &o, &r, 0.1, 3, next);
    assert_int_equal(n, 1);
    assert_int_equal(next[0].kind, NEXT_EXTEND);
    assert_near(next[0].at[0], 22.5, 1e-12, 0.0);
    assert_near(next[0].at[2], 35.5, 1e-12, 0.0);
    /* before the first: a shorter one */
    const double before[3] = {0.401, 0.401, 0.401};
    r = find(*state, x3, before, 3, 0.001, &b);
    o = options(0.001);
    n = plateau_next_shots(&b, &o, &r, 0.1, 3, next);
    assert_int_equal(n, 1);
    assert_int_equal(next[0].kind, NEXT_SHORTER);
    assert_near(next[0].at[0], 1.5, 1e-12, 0.0);
    /* the gap is the press's step: nothing left to ask for */
    const double fine[3] = {3.0, 3.1, 3.2};
    r = find(*state, fine, frozen, 3, 0.064, &b);
    o = options(0.064);
    assert_int_equal(plateau_next_shots(&b, &o, &r, 0.1, 3, next), 0);
}

/* The middle of the bracket, measured, halves it: followed on simulated studies. */
static void a_bracket_promise_is_kept(void **state)
{
    int kept = 0, asked = 0;
    for (uint64_t t = 0; t < 40; t++) {
        struct arena *a = arena_new();
        struct sim_design d = {8, 3, 2.0, 9.0, 0.002, 0.0, 0.0};
        struct math_blocks b;
        struct plateau_next next[2];
        struct plateau_options o = options(0.0215);
        double x[27], y[27];
        size_t n = sim_trial(SIM_LINEAR_PLATEAU, &d, t, x, y);
        struct plateau_answer r = find(a, x, y, n, 0.0215, &b);
        if (plateau_next_shots(&b, &o, &r, 0.1, 3, next) == 1 && next[0].kind == NEXT_MIDWAY) {
            struct sim_stream s = {t};
            asked++;
            for (size_t i = 0; i < 3; i++, n++) {
                x[n] = next[0].at[0];
                y[n] = sim_weight(SIM_LINEAR_PLATEAU, x[n]) + 0.002 * sim_normal(&s);
            }
            r = find(a, x, y, n, 0.0215, &b);
            double half = (r.high - r.low) / 2.0;
            kept += half <= 1.25 * next[0].half_width_then;
        }
        arena_free(a);
    }
    (void)state;
    print_message("promise kept in %d of %d\n", kept, asked);
    assert_true(asked >= 30);
    assert_true(kept >= asked * 9 / 10);
}

/* P - A at the first setting, by the formula's limit, wherever a search for an interval's end goes.
 */
static void logistic_at_its_first_setting(void **state)
{
    (void)state;
    static const double h[] = {-1e4, -800.0, -40.0, 0.0, 40.0, 500.0};
    for (size_t i = 0; i < PL_COUNT(h); i++) {
        struct family_fit f = {.id = FAMILY_LOGISTIC, .value = {21.5, 2.0, h[i], 0.3}};
        double d[5];
        assert_near(family_value(&f, 4.0, 4.0), 19.5, 1e-12, 0.0);
        assert_true(isfinite(family_value(&f, 4.5, 4.0)));
        family_gradient(&f, 4.0, 4.0, d);
        assert_near(d[3], 0.0, 1e-12, 1e-12);
        assert_near(d[4], 0.0, 1e-12, 1e-12);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quantiles),
        cmocka_unit_test(logistic_at_its_first_setting),
        cmocka_unit_test_setup_teardown(blocks, setup, teardown),
        cmocka_unit_test_setup_teardown(scatter, setup, teardown),
        cmocka_unit_test(reading_step),
        cmocka_unit_test_setup_teardown(shots_to_decide, setup, teardown),
        cmocka_unit_test_setup_teardown(next_shots_by_state, setup, teardown),
        cmocka_unit_test(a_bracket_promise_is_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
