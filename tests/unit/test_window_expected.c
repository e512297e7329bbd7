/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The responses to expect at the aim and their alarm limits. Quantiles of Student's t by R 4. */
#include "window_make.h"

#define T_ALARM_12 3.76423522422914 /* qt(0.99865, 12): six conditions of three shots */
#define T_12 2.17881282966723       /* qt(0.975, 12) */

/* speed aim sqrt(40 x 90) = 60 */
static void add_speed(struct made *m)
{
    made_bound(m, "viscosity", "injection_speed", BOUND_LOWER, 40, 38);
    made_bound(m, "viscosity", "injection_speed", BOUND_UPPER, 90, 92);
}

static struct condition *add(struct made *m, const char *study, const char *series, double x,
                             double mean, double sd)
{
    struct condition *c = finding_condition(made_finding(m, study));
    c->series = series;
    c->setting = x;
    c->setting_dimension = strcmp(study, "viscosity") == 0 ? DIM_SPEED : DIM_TIME;
    c->dimension = strstr(series, "time") != NULL       ? DIM_TIME
                   : strstr(series, "pressure") != NULL ? DIM_PRESSURE
                                                        : DIM_LENGTH;
    c->n = 3;
    c->mean = mean;
    c->sd = sd;
    return c;
}

/* t = 0.05 + 30 / v exactly, shots scatter by 0.5 % */
static void add_fill_times(struct made *m, double sd)
{
    static const double v[6] = {20, 30, 45, 70, 100, 150};
    for (int i = 0; i < 6; i++)
        add(m, "viscosity", "fill time", v[i], 0.05 + 30.0 / v[i], sd * (0.05 + 30.0 / v[i]));
}

static void fill_time_at_the_aim(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    add_speed(&m);
    add_fill_times(&m, 0.005);
    made_window(&m);
    const struct expected_response *r = made_expected(&m, "fill_time");
    assert_lre(r->value, 0.55, 9); /* straight over 1 / speed */
    /* the means lie on the line: the interval is that of the shots, of a new mean between two:
     * f of the way from 70 (1/v = 0.0143) to 45 (0.0222) */
    double f = (1.0 / 60 - 1.0 / 70) / (1.0 / 45 - 1.0 / 70);
    double half = 0.55 * T_12 * 0.005 / sqrt(3.0) * sqrt(1.0 + f * f + (1.0 - f) * (1.0 - f));
    assert_lre(0.55 - r->low, half, 6);
    assert_lre(r->high - 0.55, half, 6);
    assert_lre(r->low - r->alarm_low, 0.55 * 0.005 * T_ALARM_12, 6);
    assert_lre(r->alarm_high - r->high, 0.55 * 0.005 * T_ALARM_12, 6);
    assert_string_equal(r->because, "viscosity, at injection speed 60 mm/s");
    made_free(&m);
}

/* Digits of 0.02 s add their own variance to every reading, and to every mean. */
static void coarse_digits_widen(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    add_speed(&m);
    add_fill_times(&m, 0.0); /* all shots read alike */
    made_window(&m);
    const struct expected_response *r = made_expected(&m, "fill_time");
    assert_true(isnan(r->alarm_low) && isnan(r->alarm_high));
    assert_says(r->because, "no alarm limits: all shots of a condition read alike");
    made_quantity(&m, "viscosity", "fill_time_step", 0.02, NAN, NAN);
    made_window(&m);
    r = made_expected(&m, "fill_time");
    assert_lre(r->low - r->alarm_low, T_ALARM_12 * 0.02 / sqrt(12.0), 6);
    made_free(&m);
}

static void without_scatter_no_alarm(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    add_speed(&m);
    add_fill_times(&m, 0.005);
    for (size_t i = 0; i < 6; i++) {
        m.f[0].conditions[i].n = 1;
        m.f[0].conditions[i].sd = NAN;
    }
    made_window(&m);
    const struct expected_response *r = made_expected(&m, "fill_time");
    assert_true(isfinite(r->value));
    assert_true(isnan(r->alarm_low));
    assert_says(r->because, "no condition has two shots");
    /* two settings, neither run again: nobody knows how set-ups scatter */
    m.f[0].n_conditions = 0;
    add(&m, "viscosity", "fill time", 45, 0.70, 0.003);
    add(&m, "viscosity", "fill time", 70, 0.48, 0.003);
    made_window(&m);
    r = made_expected(&m, "fill_time");
    assert_lre(r->value, 0.48 + 0.22 * (1.0 / 60 - 1.0 / 70) / (1.0 / 45 - 1.0 / 70), 9);
    assert_true(isnan(r->low) && isnan(r->alarm_low));
    assert_says(r->because, "the scatter from one set-up to the next is not known");
    made_free(&m);
}

static void outside_the_conditions_nothing(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    add_speed(&m);
    add(&m, "viscosity", "fill time", 70, 0.48, 0.003);
    add(&m, "viscosity", "fill time", 100, 0.35, 0.003);
    made_window(&m);
    assert_null(made_expected(&m, "fill_time"));
    /* a condition that was left out does not count */
    add(&m, "viscosity", "fill time", 30, 1.05, 0.003)->left_out = "held by the pressure limit";
    made_window(&m);
    assert_null(made_expected(&m, "fill_time"));
    m.f[0].conditions[2].left_out = NULL;
    made_window(&m);
    assert_non_null(made_expected(&m, "fill_time"));
    made_free(&m);
}

/* ln P is straight over ln t; between conditions a power law is exact */
static void pressures_follow_the_fill_time(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    add_speed(&m);
    add_fill_times(&m, 0.005);
    for (size_t i = 0; i < 6; i++) {
        double t = m.f[0].conditions[i].mean, p = 90.0 * pow(t, -0.3);
        add(&m, "viscosity", "peak pressure", m.f[0].conditions[i].setting, 1.02 * p, 0.4);
    }
    for (size_t i = 0; i < 6; i++) {
        double p = 90.0 * pow(m.f[0].conditions[i].mean, -0.3);
        struct condition *c =
            add(&m, "viscosity", "transfer pressure", m.f[0].conditions[i].setting, p, 0.006 * p);
        c->fitted = p;
        c->fitted_low = 0.99 * p;
        c->fitted_high = 1.02 * p;
    }
    m.premises.display[DIM_PRESSURE] = (struct display_unit){"bar (hydraulic)", 1.02, 0.0};
    made_window(&m);
    double p = 90.0 * pow(0.55, -0.3);
    assert_lre(made_expected(&m, "peak_pressure")->value, 1.02 * p, 8);
    const struct expected_response *r = made_expected(&m, "transfer_pressure");
    assert_lre(r->value, p, 8);
    /* the curve's interval and that of a new mean of three shots, as squares */
    double half = p * T_12 * 0.006 / sqrt(3.0);
    assert_lre(p - r->low, hypot(half, 0.01 * p), 6);
    assert_lre(r->high - p, hypot(half, 0.02 * p), 6);
    assert_lre(r->low - r->alarm_low, p * 0.006 * T_ALARM_12, 6);
    assert_says(r->because, ", melt pressure 107.7 MPa"); /* 90 x 0.55^-0.3 = 107.68 */
    made_free(&m);
}

static void cushion_at_the_hold_time(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 5.8, 5.1);
    for (int i = 2; i <= 9; i++)
        add(&m, "gate-freeze", "cushion", i, 6.0 - 0.1 * i, 0.05);
    made_window(&m);
    assert_lre(made_expected(&m, "cushion")->value, 6.0 - 0.63, 9);
    assert_string_equal(made_expected(&m, "cushion")->because, "gate-freeze, at hold time 6.3 s");
    made_free(&m);
}

/* fill 0.55 + hold 6.3 + cooling 10.95 -> 11.0; timers of 0.02 s sd */
static void closed_time_of_the_aims(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    add_speed(&m);
    add_fill_times(&m, 0.005);
    made_bound(&m, "viscosity", "fill_time", BOUND_LOWER, 0.4, 0.4);
    made_bound(&m, "viscosity", "fill_time", BOUND_UPPER, 0.8, 0.8);
    made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 5.8, 5.1);
    made_bound(&m, "cooling", "closed_time", BOUND_LOWER, 17.3, 16.1);
    made_at(&m, "cooling", "fill_time", 0.8, 0.8);
    made_at(&m, "cooling", "hold_time", 6.0, 6.0);
    made_window(&m);
    assert_lre(made_setting(&m, "fill_time")->aim, 0.55, 9);
    assert_true(made_setting(&m, "fill_time")->aim_is_result);
    assert_false(made_setting(&m, "hold_time")->aim_is_result);
    assert_says(made_setting(&m, "fill_time")->because,
                "Expect 0.55 s: the fill time that the aim of the injection speed, 60 mm/s, gives "
                "in viscosity.");
    /* 17.3 - 0.55 - 6.3 = 10.45, + 0.5 = 10.95, up to 11.0 */
    assert_lre(made_setting(&m, "cooling_time")->aim, 11.0, 9);
    const struct expected_response *r = made_expected(&m, "closed_time");
    const struct expected_response *fill = made_expected(&m, "fill_time");
    assert_lre(r->value, 17.85, 9);
    assert_near(r->high - r->value, fill->high - fill->value, 0, 1e-8);
    assert_near(r->alarm_high - r->value, fill->alarm_high - fill->value, 0, 1e-8);
    assert_string_equal(r->because, "fill 0.55 s + hold 6.3 s + cooling 11 s; timers taken to "
                                    "repeat exactly: their scatter was not measured");
    made_fact(&m, "press", "time_repeatability", 0.02);
    made_window(&m);
    r = made_expected(&m, "closed_time");
    fill = made_expected(&m, "fill_time");
    assert_near(r->alarm_high - r->value,
                hypot(fill->alarm_high - fill->value, 3.0 * sqrt(2.0) * 0.02), 0, 1e-8);
    assert_string_equal(r->because, "fill 0.55 s + hold 6.3 s + cooling 11 s");
    made_free(&m);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(fill_time_at_the_aim),
        cmocka_unit_test(coarse_digits_widen),
        cmocka_unit_test(without_scatter_no_alarm),
        cmocka_unit_test(outside_the_conditions_nothing),
        cmocka_unit_test(pressures_follow_the_fill_time),
        cmocka_unit_test(cushion_at_the_hold_time),
        cmocka_unit_test(closed_time_of_the_aims),
    };
    return cmocka_run_group_tests_name("window: responses", tests, NULL, NULL);
}
