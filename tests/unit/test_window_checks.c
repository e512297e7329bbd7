/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The window's checks across findings: operating point, expected responses, what it owns. */
#include <math.h>
#include <string.h>

#include "near.h"
#include "plateau/window.h"

/* gate-freeze: from 5.8 s on, tested from 2 to 9 s */
static size_t one_study(struct arena *a, struct finding *f)
{
    finding_init(f, a, "gate-freeze", "Gate freeze");
    struct bound *b = finding_bound(f, "hold_time", BOUND_LOWER, DIM_TIME);
    b->value = b->high = 5.8;
    b->low = 5.1;
    b->verdict = VERDICT_MET;
    for (int i = 2; i <= 9; i++) {
        struct condition *c = finding_condition(f);
        c->setting = i;
        c->setting_dimension = DIM_TIME;
    }
    return 1;
}

/* ---- operating point
 * ------------------------------------------------------------------------------
 */

static void temperature_fact(struct fact *f, const char *key, double low, double high)
{
    *f = (struct fact){.section = "material",
                       .key = key,
                       .kind = FACT_RANGE,
                       .dimension = DIM_TEMPERATURE,
                       .low = low,
                       .high = high,
                       .relative = NAN};
}

static const struct flag *flag_named(const struct window *w, const char *code)
{
    for (size_t i = 0; i < w->n_flags; i++)
        if (strcmp(w->flags[i].code, code) == 0)
            return &w->flags[i];
    return NULL;
}

static void operating(struct finding *f, const char *setting, double v)
{
    struct operating_value *o = finding_operating(f, setting, DIM_TEMPERATURE);
    o->low = o->high = v;
}

static void one_temperature_only(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f[1];
    size_t n = one_study(a, f);
    struct fact items[2];
    temperature_fact(&items[0], "melt_temperature", 200, 230);
    temperature_fact(&items[1], "mold_temperature", 38, 42);
    struct facts facts = {NULL, items, 2, 2};
    struct premises p = {.facts = &facts};
    struct window w;
    struct error e = {0};

    assert_int_equal(window_make(a, f, n, &p, &w, &e), ERR_NONE);
    assert_string_equal(flag_named(&w, "one-temperature-only")->text,
                        "the limits hold for the temperatures of the trial: the melt temperature "
                        "of the trial is not recorded, the mold temperature of the trial is not "
                        "recorded");
    assert_int_equal(flag_named(&w, "one-temperature-only")->grade, FLAG_DOUBT);
    assert_int_equal(w.settings[0].verdict, VERDICT_MET); /* a doubt changes no verdict */

    operating(&f[0], "melt_temperature", 217);
    operating(&f[0], "mold_temperature", 40);
    assert_int_equal(window_make(a, f, n, &p, &w, &e), ERR_NONE);
    assert_string_equal(flag_named(&w, "one-temperature-only")->text,
                        "the limits hold for the temperatures of the trial: melt temperature 217 "
                        "degC (the supplier's range is 200 degC to 230 degC), mold temperature 40 "
                        "degC (the supplier's range is 38 degC to 42 degC)");
    assert_null(flag_named(&w, "outside-material-range"));

    /* 3 K around 217 cover 214 to 220 */
    temperature_fact(&items[0], "melt_temperature", 214, 220);
    assert_int_equal(window_make(a, f, n, &p, &w, &e), ERR_NONE);
    assert_int_equal(w.n_flags, 0);
    temperature_fact(&items[0], "melt_temperature", 213, 220);
    assert_int_equal(window_make(a, f, n, &p, &w, &e), ERR_NONE);
    assert_int_equal(w.n_flags, 1);
    arena_free(a);
}

static void outside_the_suppliers_range(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f[1];
    size_t n = one_study(a, f);
    operating(&f[0], "melt_temperature", 236);
    struct fact items[1];
    temperature_fact(&items[0], "melt_temperature", 200, 230);
    struct facts facts = {NULL, items, 1, 1};
    struct premises p = {.facts = &facts};
    struct window w;
    struct error e = {0};
    assert_int_equal(window_make(a, f, n, &p, &w, &e), ERR_NONE);
    assert_string_equal(flag_named(&w, "outside-material-range")->text,
                        "gate-freeze was run at a melt temperature of 236 degC; the supplier's "
                        "range is 200 degC to 230 degC");
    items[0].high = 236;
    assert_int_equal(window_make(a, f, n, &p, &w, &e), ERR_NONE);
    assert_null(flag_named(&w, "outside-material-range"));
    arena_free(a);
}

/* plateau 25.18 +- 0.004 g; residual sd 0.004 g on 22 rows less 3 parameters: R's qt(0.99865, 19) =
 * 3.44719981038994, so alarms at 25.176 - 0.0137888 and 25.184 + 0.0137888 g. Then two conditions
 * more than parameters, at 0.003 g from the curve each: variance 5 x 0.003^2 / 2, R's qt(0.975, 2)
 * = 4.30265272974946, half-width sqrt(0.004^2 + 4.302653^2 x 0.0000225) = 0.0207976 */
static void expected_weight(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f[1];
    size_t n = one_study(a, f);
    struct quantity *q = finding_quantity(&f[0], "plateau_weight", "plateau weight", DIM_MASS);
    q->value = 25.18;
    q->low = 25.176;
    q->high = 25.184;
    struct window w;
    struct error e = {0};
    assert_int_equal(window_make(a, f, n, NULL, &w, &e), ERR_NONE);
    assert_int_equal(w.n_expected, 1);
    assert_true(isnan(w.expected[0].low));
    struct model *m = finding_model(&f[0], "exponential");
    m->n_parameters = 3;
    m->residual_sd = 0.004;
    m->chosen = true;
    f[0].rows_used = 22;
    assert_int_equal(window_make(a, f, n, NULL, &w, &e), ERR_NONE);
    assert_near(w.expected[0].value, 25.18, 0, 0);
    assert_lre(w.expected[0].low, 25.176, 9);
    assert_lre(w.expected[0].high, 25.184, 9);
    assert_near(25.176 - w.expected[0].alarm_low, 3.44719981038994 * 0.004, 0, 1e-8);
    assert_near(w.expected[0].alarm_high - 25.184, 3.44719981038994 * 0.004, 0, 1e-8);
    for (size_t i = 0; i < 5; i++) {
        f[0].conditions[i].fitted = 25.18;
        f[0].conditions[i].mean = 25.18 + (i % 2 == 0 ? 0.003 : -0.003);
    }
    assert_int_equal(window_make(a, f, n, NULL, &w, &e), ERR_NONE);
    double half = sqrt(0.004 * 0.004 + 4.30265272974946 * 4.30265272974946 * 0.0000225);
    assert_near(25.18 - w.expected[0].low, half, 0, 1e-8);
    assert_near(w.expected[0].high - 25.18, half, 0, 1e-8);
    f[0].study = "another-study"; /* asked for by the quantity's name */
    f[0].bounds[0].study = "another-study";
    assert_int_equal(window_make(a, f, n, NULL, &w, &e), ERR_NONE);
    assert_int_equal(w.n_expected, 1);
    f[0].bounds[0].value = 9.0; /* aim outside the tested range: nothing to expect */
    assert_int_equal(window_make(a, f, n, NULL, &w, &e), ERR_NONE);
    assert_int_equal(w.n_expected, 0);
    arena_free(a);
}

static void what_the_window_owns(void **state)
{
    (void)state;
    size_t n;
    const struct criterion_spec *c = window_criteria(&n);
    assert_int_equal(n, 2);
    assert_string_equal(c[0].name, "cooling_time_margin");
    assert_near(c[0].absolute, 0.5, 0, 0);
    assert_true(isnan(c[0].relative));
    assert_int_equal(c[0].origin, 'C');
    assert_string_equal(c[1].name, "hold_time_margin");
    assert_near(c[1].absolute, 0.5, 0, 0);
    assert_near(c[1].relative, 0.05, 0, 0);
    assert_int_equal(c[1].origin, 'C');
    const struct flag_spec *f = window_flags(&n);
    for (size_t i = 0; i < n; i++)
        assert_true(f[i].code != NULL && f[i].meaning != NULL && f[i].remedy != NULL);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_temperature_only),
        cmocka_unit_test(outside_the_suppliers_range),
        cmocka_unit_test(expected_weight),
        cmocka_unit_test(what_the_window_owns),
    };
    return cmocka_run_group_tests_name("window checks", tests, NULL, NULL);
}
