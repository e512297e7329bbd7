/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The cooling study's shares inside limits against the factors of test_cooling_values.c, the check
 * by conduction, and the price of time. */
#include <math.h>
#include <string.h>

#include "cooling_run.h"
#include "plateau/math_cooling.h"

/* ---- shares inside limits -------------------------------------------------------------------- */

/* Eight cooling times of three shots at 20 - d, 20, 20 + d: sd d, three shots behind a mean, 16
 * degrees of freedom, no scatter from condition to condition. */
static const char *alike(double d, const char *column)
{
    struct text t;
    text_init(&t, arena);
    text_addf(&t, "cooling time [s],hold time [s],age [h],%s\n", column);
    for (int i = 0; i < 24; i++)
        text_addf(&t, "%d,6,30,%.6f\n", 2 + i / 3, 20.0 + d * (double)(i % 3 - 1));
    return t.s;
}

#define K_ONE 4.4119386699 /* p 0.9973, confidence 0.95, n 3, nu 16: R */
#define K_TWO 4.6981206673 /* p 0.99865 */

static void one_limit_by_the_factor(void **state)
{
    (void)state;
    static const struct {
        double off; /* of K_ONE */
        enum verdict verdict;
    } cases[] = {{1e-6, VERDICT_MET}, {-1e-6, VERDICT_NOT_SHOWN}};
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        double k = K_ONE * (1.0 + cases[i].off);
        struct finding low =
            analyze(alike(0.1, "pull_force [N]"),
                    arena_printf(arena, "[dimensions]\npull_force >= %.9f N\n", 20.0 - 0.1 * k));
        struct finding high =
            analyze(alike(0.1, "gap [mm]"),
                    arena_printf(arena, "[dimensions]\ngap <= %.9f mm\n", 20.0 + 0.1 * k));
        assert_int_equal(criterion(&low, "cooling_yield")->verdict, cases[i].verdict);
        assert_int_equal(criterion(&high, "cooling_yield")->verdict, cases[i].verdict);
        assert_int_equal(low.n_criteria, 1); /* one limit: movement is not judged */
        assert_near(criterion(&high, "cooling_yield")->low, 0.9973, 0.0, 1e-7);
        assert_near(low.bounds[0].value, 8.0, 1e-9, 0.0);
        assert_int_equal(low.bounds[0].verdict, cases[i].verdict);
        assert_int_equal(criterion(&low, "cooling_yield")->sides, 1);
    }
}

static void two_limits_by_the_factor(void **state)
{
    (void)state;
    static const struct {
        double off;
        enum verdict verdict;
    } cases[] = {{1e-6, VERDICT_MET}, {-1e-6, VERDICT_NOT_SHOWN}};
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        double half = 0.1 * K_TWO * (1.0 + cases[i].off);
        struct finding f = analyze(
            alike(0.1, "gap [mm]"),
            arena_printf(arena, "[dimensions]\ngap = %.9f..%.9f mm\n", 20.0 - half, 20.0 + half));
        const struct criterion *c = criterion(&f, "cooling_yield");
        assert_int_equal(c->verdict, cases[i].verdict);
        assert_near(c->low, 0.9973, 0.0, 1e-7);
        bool narrow = flag_of(&f, "band-too-narrow") != NULL;
        assert_int_equal(narrow, cases[i].verdict == VERDICT_NOT_SHOWN);
    }
}

/* Fewer than the share are shown to be inside: R, qt(0.05, 16, qnorm(0.9973) sqrt(3)) / sqrt(3). */
static void a_share_refuted(void **state)
{
    (void)state;
    const double missed = math_tolerance_factor(0.9973, 0.05, 3.0, 16.0);
    assert_true(missed < math_normal_quantile(0.9973));
    for (int side = -1; side <= 1; side += 2) {
        double at = 20.0 + 0.1 * missed * (1.0 + 1e-6 * side);
        struct finding f = analyze(alike(0.1, "gap [mm]"),
                                   arena_printf(arena, "[dimensions]\ngap <= %.9f mm\n", at));
        const struct criterion *c = criterion(&f, "cooling_yield");
        assert_int_equal(c->verdict, side < 0 ? VERDICT_NOT_MET : VERDICT_NOT_SHOWN);
        assert_int_equal(f.n_bounds, side < 0 ? 0 : 1);
        if (side < 0) {
            assert_near(c->high, 0.9973, 0.0, 1e-6);
            assert_non_null(flag_of(&f, "outside-limits"));
            assert_says(f.decision, "look at hold pressure");
        }
    }
}

/* The numbers of shots that are promised are the least that do, by the factors themselves. */
static void shots_promised(void **state)
{
    (void)state;
    struct finding f = analyze(alike(0.1, "gap [mm]"), "[dimensions]\ngap = 19.6..20.4 mm\n");
    const char *text = flag_of(&f, "band-too-narrow")->text;
    int n = 3;
    while (2.0 * math_tolerance_factor(0.99865, 0.95, n, 8.0 * (n - 1)) * 0.1 > 0.8)
        n++;
    assert_says(text, arena_printf(arena, "%d shots at each cooling time", n));
    /* the mean is in the middle, so the same number decides */
    assert_int_equal(criterion(&f, "cooling_yield")->shots_to_decide, n - 3);
    f = analyze(alike(0.1, "gap [mm]"), "[dimensions]\ngap = 19.71..20.29 mm\n");
    assert_says(flag_of(&f, "band-too-narrow")->text, "no number of shots will do");
}

/* Part of the tested times passes: the first from which on all do. */
static void from_which_time_on(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    struct finding f = run(s, ROWS, "[dimensions]\nlength >= 62.35 mm\n");
    const struct bound *b = bound_of(&f, "cooling_yield");
    /* at 4 s the length is 62.382 mm, 8 sd above; at 3 s it is 62.347 */
    assert_near(b->value, 4.0 + HOLD + FILL, 1e-9, 0.0);
    assert_near(b->low, 3.0 + HOLD + FILL, 1e-9, 0.0);
    assert_int_equal(b->verdict, VERDICT_MET);
    assert_says(b->because, "99.73 % of the parts inside the limits of length");
}

/* The cavity that comes off worst is judged, not the mean of all. */
static void the_worst_cavity(void **state)
{
    (void)state;
    struct text wide, tall;
    struct sim_stream r = {21};
    text_init(&wide, arena);
    text_init(&tall, arena);
    text_add(&wide, "shot,cooling time [s],hold time [s],age [h],length c1 [mm],length c2 [mm]\n");
    text_add(&tall, "shot,cooling time [s],hold time [s],age [h],cavity,length [mm]\n");
    for (int i = 0; i < 24; i++) {
        double x = true_length(2 + i / 3 + HOLD + FILL), v[2];
        for (int c = 0; c < 2; c++)
            v[c] = x + (c == 0 ? 0.02 : -0.02) + 0.004 * sim_normal(&r);
        text_addf(&wide, "%d,%d,6.5,26,%.4f,%.4f\n", i + 1, 2 + i / 3, v[0], v[1]);
        for (int c = 0; c < 2; c++)
            text_addf(&tall, "%d,%d,6.5,26,%d,%.4f\n", i + 1, 2 + i / 3, c + 1, v[c]);
    }
    const char *ini = "[dimensions]\nlength = 62.36..62.52 mm\n";
    struct finding a = analyze(wide.s, ini), b = analyze(tall.s, ini);
    assert_int_equal(a.n_bounds, 2);
    /* at 4 s cavity 2 is at 62.362 mm, half an sd above the limit; the mean of both at 62.382 */
    assert_true(bound_of(&a, "cooling_yield")->value > 4.5 + HOLD);
    assert_says(criterion(&a, "cooling_yield")->because, "length of cavity 2");
    for (size_t i = 0; i < 2; i++) {
        assert_near(b.bounds[i].value, a.bounds[i].value, 1e-9, 0.0);
        assert_near(b.bounds[i].low, a.bounds[i].low, 1e-9, 0.0);
    }
}

/* Scatter from condition to condition counts: it makes the scatter of a part larger and less well
 * known. */
static void condition_scatter_counts(void **state)
{
    (void)state;
    struct shot s[ROWS];
    const char *ini = "[dimensions]\nlength >= 62.36 mm\n";
    clean_study(s, 3, 0.0);
    struct finding calm = run(s, ROWS, ini);
    for (size_t i = 0; i < ROWS; i++)
        s[i].length += (i / 3) % 3 == 0 ? 0.012 : -0.012;
    struct finding rough = run(s, ROWS, ini);
    assert_true(criterion(&rough, "cooling_yield")->low < criterion(&calm, "cooling_yield")->low);
    double sd = quantity(&rough, "length_condition_sd")->value;
    assert_true(sd > 0.004);
}

/* A limit is told as it was typed, however many digits it has. */
static void limits_as_typed(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    for (size_t i = 0; i < ROWS; i++)
        s[i].length += 1000.0;
    struct finding f = run(s, ROWS, "[dimensions]\nlength = 1062.275..1062.55 mm\n");
    assert_says(criterion(&f, "cooling_yield")->limit_wording, "1062.275 mm to 1062.55 mm");
    f = run(s, ROWS, "[dimensions]\nlength >= 41.825 in\n");
    assert_says(criterion(&f, "cooling_yield")->limit_wording, "at least 1062.355 mm");
}

/* ---- conduction, price of time --------------------------------------------------------------- */

#define SLAB                                                                                       \
    "[mold]\nwall_thickness = 2.0 mm\ncavities = 4\n[material]\nthermal_diffusivity = 0.0873 "     \
    "mm2/s\nejection_temperature = 97.3 degC\n"

/* The published plate of test_cooling_values.c: 8.4 s at the center. */
static void the_published_plate(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    struct finding f =
        run(s, ROWS,
            DIMENSIONS SLAB "[running]\nmelt_temperature = 239 degC\nmold_temperature = 60 degC\n");
    assert_near(quantity(&f, "theoretical_cooling_time_centre")->value, 8.4, 0.0, 0.05);
    assert_near(quantity(&f, "theoretical_cooling_time")->value,
                math_slab_time(SLAB_MEAN, 2.0, 0.0873, 239.0, 60.0, 97.3), 1e-9, 0.0);
    const char *text = flag_of(&f, "slab-check")->text;
    assert_int_equal(flag_of(&f, "slab-check")->grade, FLAG_NOTE);
    assert_says(text, "a wall of 2 mm (thermal diffusivity 0.0873 mm2/s)");
    assert_says(text, "starts at 239 degC ([running]) between faces of 60 degC ([running])");
    assert_says(text, "cools to 97.3 degC");
    assert_says(text, "8.40 s at its center");
    assert_says(text, "differ by a factor of two");
    /* it decides nothing: the bounds are those of the study without it, but for the temperature */
    struct finding without = run(s, ROWS, DIMENSIONS);
    assert_near(bound_of(&f, "cooling_tolerance")->value,
                bound_of(&without, "cooling_tolerance")->value, 0.0, 0.0);
    /* the middle of the supplier's range where nothing was measured */
    f = run(s, ROWS,
            DIMENSIONS SLAB "melt_temperature = 229..249 degC\nmold_temperature = 50..70 degC\n");
    assert_near(quantity(&f, "theoretical_cooling_time_centre")->value, 8.4, 0.0, 0.05);
    assert_says(flag_of(&f, "slab-check")->text, "middle of the supplier's range");
}

static void measured_temperatures_go_first(void **state)
{
    (void)state;
    struct text t;
    text_init(&t, arena);
    text_add(&t,
             "cooling time [s],hold time [s],warp [mm],melt temperature [degC],mold temperature "
             "[degC]\n");
    for (int i = 0; i < 15; i++)
        text_addf(&t, "%d,6,0.2,%d,60\n", 2 + i / 3, i % 2 == 0 ? 238 : 240);
    struct finding f =
        analyze(t.s, SLAB "[running]\nmelt_temperature = 200 degC\nmold_temperature = 20 degC\n");
    assert_near(quantity(&f, "theoretical_cooling_time_centre")->value, 8.4, 0.0, 0.05);
    assert_says(flag_of(&f, "slab-check")->text, "239 degC (as measured)");
    assert_string_equal(operating(&f, "melt_temperature")->from, "column melt_temperature");
    assert_near(operating(&f, "melt_temperature")->low, 238.0, 1e-12, 0.0);
    assert_non_null(flag_of(&f, "no-limit"));
}

static void what_the_slab_lacks(void **state)
{
    (void)state;
    static const char *const cases[][2] = {
        {"", "wall_thickness"},
        {"[mold]\nwall_thickness = 2 mm\n", "thermal_diffusivity"},
        {"[mold]\nwall_thickness = 2 mm\n[material]\nthermal_diffusivity = 0.09 mm2/s\n",
         "ejection_temperature"},
        {SLAB, "melt temperature"},
        {SLAB "[running]\nmelt_temperature = 239 degC\n", "mold temperature"},
        {SLAB "[running]\nmelt_temperature = 239 degC\nmold_temperature = 98 degC\n",
         "not colder than"},
    };
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        struct finding f = run(s, ROWS, arena_printf(arena, DIMENSIONS "%s", cases[i][0]));
        const struct quantity *q = quantity(&f, "theoretical_cooling_time");
        assert_true(isnan(q->value));
        assert_says(q->reason, cases[i][1]);
        assert_null(flag_of(&f, "slab-check"));
    }
}

static void the_price_of_a_tenth(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    struct finding f =
        run(s, ROWS,
            DIMENSIONS "[mold]\ncavities = 4\n[economics]\nparts_per_year = 3600000\n"
                       "press_rate = 40 EUR/h\n");
    /* 900 000 shots x 0.1 s = 25 h */
    assert_near(quantity(&f, "tenth_second_hours")->value, 25.0, 1e-9, 0.0);
    assert_near(quantity(&f, "tenth_second_cost")->value, 1000.0, 1e-9, 0.0);
    assert_string_equal(quantity(&f, "tenth_second_cost")->unit, "EUR/year");
    assert_says(flag_of(&f, "price-of-time")->text,
                "25.0 hours of press time a year, or 1000 EUR (3600000 parts a year, 4 a shot)");
    f = run(s, ROWS, DIMENSIONS "[economics]\nparts_per_year = 36000\n");
    assert_near(quantity(&f, "tenth_second_hours")->value, 1.0, 1e-9, 0.0);
    assert_null(finding_get(&f, "tenth_second_cost"));
    assert_says(flag_of(&f, "price-of-time")->text, "one a shot");
}

int main(void)
{
    struct CMUnitTest tests[16];
    size_t n = 0;
#define TEST(name)                                                                                 \
    tests[n++] = (struct CMUnitTest)cmocka_unit_test_setup_teardown(name, setup, teardown)
    TEST(one_limit_by_the_factor);
    TEST(two_limits_by_the_factor);
    TEST(a_share_refuted);
    TEST(shots_promised);
    TEST(from_which_time_on);
    TEST(the_worst_cavity);
    TEST(condition_scatter_counts);
    TEST(limits_as_typed);
    TEST(the_published_plate);
    TEST(measured_temperatures_go_first);
    TEST(what_the_slab_lacks);
    TEST(the_price_of_a_tenth);
    return _cmocka_run_group_tests("cooling, shares and checks", tests, n, NULL, NULL);
}
