/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One common freeze time for all cavities, or not: simulated molds with a known answer. */
#include <math.h>

#include "near.h"
#include "plateau/math.h"
#include "simulate.h"

#define SHOTS 24
#define MOST_CAVITIES 8

struct mold {
    size_t n;
    double x[SHOTS], mean[SHOTS], weight[MOST_CAVITIES][SHOTS];
    const double *y[MOST_CAVITIES];
};

/* Exponential approach in every cavity; cavity 0 is slower by `delay` (s). A shot that is heavy is
 * heavy in all cavities (sd `shot_sd`); each weighing adds its own noise. */
static void make_mold(struct mold *m, size_t cavities, double delay, double shot_sd, double own_sd,
                      uint64_t seed)
{
    struct sim_stream s = {seed * 7919u + 17u};
    *m = (struct mold){.n = cavities};
    for (size_t j = 0; j < SHOTS; j++) {
        double all = shot_sd * sim_normal(&s);
        m->x[j] = 2.0 + (double)(j / 3);
        for (size_t c = 0; c < cavities; c++) {
            double x = m->x[j] - (c == 0 ? delay : 0.0), size = 1.0 + 0.004 * (double)c;
            double v = size * (21.5 - 1.2 * exp(-(x - 2.0) / 0.8)) + all + own_sd * sim_normal(&s);
            m->weight[c][j] = round(v * 1000.0) / 1000.0;
            m->mean[j] += m->weight[c][j] / (double)cavities;
        }
    }
    for (size_t c = 0; c < cavities; c++)
        m->y[c] = m->weight[c];
}

static struct cavity_compare compare(struct arena *a, const struct mold *m, double most)
{
    struct math_blocks b;
    struct plateau_options o = {PL_NAN, 0.001, 0.001 / sqrt((double)m->n), 0.95, 1};
    struct plateau_answer r;
    struct cavity_compare out;
    struct error e = {.code = ERR_NONE};
    math_blocks_make(a, m->x, m->mean, SHOTS, &b);
    assert_int_equal(plateau_find(a, &b, &o, &r, &e), ERR_NONE);
    assert_true(r.best >= 0);
    plateau_cavities_compare(a, &b, m->y, m->n, &r, &o, most, &out);
    return out;
}

/* Cavities that are alike are called different in about 5 % of molds (exact binomial bounds at 0.1
 * % for 200 molds: 2 to 22), however much whole shots scatter. */
static void equal_cavities_are_equal(void **state)
{
    (void)state;
    int rejected = 0;
    for (uint64_t t = 0; t < 200; t++) {
        struct arena *a = arena_new();
        struct mold m;
        make_mold(&m, 4, 0.0, 0.03, 0.004, t);
        rejected += compare(a, &m, 1e9).p < 0.05;
        arena_free(a);
    }
    print_message("equal cavities rejected in %d of 200\n", rejected);
    assert_in_range(rejected, 2, 22);
}

static void a_slow_cavity_is_found(void **state)
{
    (void)state;
    int right = 0, wrong = 0;
    for (uint64_t t = 0; t < 50; t++) {
        struct arena *a = arena_new();
        struct mold m;
        make_mold(&m, 4, 0.4, 0.03, 0.004, 500 + t);
        struct cavity_compare r = compare(a, &m, 1e9);
        right += r.worst == 0;
        wrong += r.worst > 0;
        arena_free(a);
    }
    print_message("slow cavity found in %d of 50, another named in %d\n", right, wrong);
    assert_true(right >= 46);
    assert_true(wrong <= 2);
}

/* Noise free, a delay of the whole approach moves the cavity's own answer by that delay. */
static void own_answers_are_the_delay(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct mold m;
    make_mold(&m, 2, 0.0, 0.0, 0.0, 1);
    struct cavity_compare r = compare(a, &m, 0.5);
    assert_int_equal(r.worst, -1);
    double base = r.answer[0];
    make_mold(&m, 2, 0.3, 0.0, 0.0, 1);
    r = compare(a, &m, 0.5);
    assert_near(r.answer[0] - base, 0.3, 0.15, 0.0);
    assert_near(r.answer[1], base, 0.01, 0.0);
    /* further off than asked for stands alone even where no test rejects */
    r = compare(a, &m, 0.01);
    assert_int_not_equal(r.worst, -1);
    arena_free(a);
}

static int setup_blocks(struct arena *a, const double *y, struct math_blocks *b, double *x)
{
    for (size_t i = 0; i < 12; i++)
        x[i] = (double)(i / 3);
    math_blocks_make(a, x, y, 12, b);
    return 0;
}

/* Studentised deletion residual by hand: block 2 holds 5.0 5.1 9.0; the other residuals' sum of
 * squares is 0.02 * 3 + 0.005 with 12 - 4 - 1 degrees of freedom. */
static void odd_rows_by_hand(void **state)
{
    (void)state;
    const double y[12] = {1.0, 1.1, 0.9, 5.0, 5.1, 9.0, 8.0, 8.1, 7.9, 9.0, 9.1, 8.9};
    struct arena *a = arena_new();
    struct math_blocks b;
    struct math_odd_row odd[4];
    double x[12];
    setup_blocks(a, y, &b, x);
    size_t n = math_odd_rows(&b, y, 0.01, 0.0, odd, 4);
    assert_int_equal(n, 1);
    assert_int_equal(odd[0].row, 5);
    assert_near(odd[0].distance, 9.0 - 5.05, 1e-12, 0.0);
    assert_int_equal(odd[0].nearer,
                     2); /* the mean of the next condition, 8.0, is nearer than 5.05 */
    double t = (9.0 - 5.05) * sqrt(2.0 / 3.0) / sqrt((0.02 * 3.0 + 0.005) / 7.0);
    assert_lre(odd[0].p, 12.0 * math_two_sided_p(t, 7.0), 6.0);
    arena_free(a);
}

/* False alarms of the odd-row check: at most 1 % of clean studies (with three standard errors). */
static void odd_rows_false_alarms(void **state)
{
    (void)state;
    int alarms = 0;
    for (uint64_t t = 0; t < 2000; t++) {
        struct arena *a = arena_new();
        struct sim_design d = {8, 3, 2.0, 9.0, 0.006, 0.006, 0.001};
        struct math_blocks b;
        struct math_odd_row odd[4];
        double x[24], y[24];
        math_blocks_make(a, x, y, sim_trial(SIM_EXPONENTIAL, &d, t, x, y), &b);
        alarms += math_odd_rows(&b, y, 0.01, 0.0, odd, 4) > 0;
        arena_free(a);
    }
    print_message("odd rows in %d of 2000 clean studies\n", alarms);
    assert_true(alarms <= 20 + 14);
    assert_true(alarms >= 3); /* a check that never fires would pass too */
}

/* Paired t by hand: first minus mean of the rest is 0.3, 0.2, 0.1, 0.2; mean 0.2, sd 0.0816497,
 * t = 0.2 / (0.0816497 / 2) = 4.898979, three degrees of freedom: p = 0.016283. */
static void first_shots_by_hand(void **state)
{
    (void)state;
    const double y[12] = {1.3, 1.1, 0.9, 5.2, 5.1, 4.9, 8.1, 8.1, 7.9, 9.2, 9.1, 8.9};
    struct arena *a = arena_new();
    struct math_blocks b;
    double x[12];
    setup_blocks(a, y, &b, x);
    struct math_first_shots r = math_first_shots(&b, y);
    assert_int_equal(r.blocks, 4);
    assert_near(r.mean, 0.2, 1e-12, 0.0);
    assert_near(r.p, 0.016283, 1e-3, 0.0);
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(equal_cavities_are_equal),  cmocka_unit_test(a_slow_cavity_is_found),
        cmocka_unit_test(own_answers_are_the_delay), cmocka_unit_test(odd_rows_by_hand),
        cmocka_unit_test(odd_rows_false_alarms),     cmocka_unit_test(first_shots_by_hand),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
