/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where findings were made against where the window lies: other speeds, pressures and
 * temperatures, the worst corner, and windows that are hardly there. */
#include "window_make.h"

/* ---- other points ---------------------------------------------------------------------------- */

/* speed aim sqrt(40 x 90) = 60 */
static void add_speed(struct made *m)
{
    made_bound(m, "viscosity", "injection_speed", BOUND_LOWER, 40, 38);
    made_bound(m, "viscosity", "injection_speed", BOUND_UPPER, 90, 92);
}

static void at_another_speed(void **state)
{
    (void)state;
    static const struct {
        double low, high;
        bool flagged;
    } cases[] = {{60, 60, false},    {54.1, 54.1, false}, {53.9, 53.9, true}, {65.9, 65.9, false},
                 {66.1, 66.1, true}, {50, 57.5, false},   {64, 80, true}};
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        struct made m;
        made_new(&m);
        add_speed(&m);
        made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 5.8, 5.1);
        made_at(&m, "gate-freeze", "injection_speed", cases[i].low, cases[i].high);
        made_window(&m);
        assert_int_equal(made_flag(&m, "other-injection-speed") != NULL, cases[i].flagged);
        /* a doubt, no verdict */
        assert_int_equal(made_setting(&m, "hold_time")->verdict, VERDICT_MET);
        made_free(&m);
    }
}

/* Shots were repeated at the aim of 59 mm/s; more shots move the middle to 64 (sqrt(45.5 x 90)):
 * the aim stays where the studies were run, so that they need not be repeated again. */
static void the_aim_stays_where_studies_were_run(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    made_bound(&m, "viscosity", "injection_speed", BOUND_LOWER, 45.5, 44);
    made_bound(&m, "viscosity", "injection_speed", BOUND_UPPER, 90, 92);
    made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 5.8, 5.1);
    struct operating_value *o = made_at(&m, "gate-freeze", "injection_speed", 59, 59);
    made_window(&m);
    assert_lre(made_setting(&m, "injection_speed")->aim, 59.0, 10);
    assert_says(made_setting(&m, "injection_speed")->because,
                "Set 59 mm/s: where gate-freeze was run, near the geometric mean 64.0 mm/s");
    assert_null(made_flag(&m, "other-injection-speed"));
    /* not where nobody knows, nor outside the limits, nor far off */
    o->from = "[running]";
    made_window(&m);
    assert_near(made_setting(&m, "injection_speed")->aim, 64.0, 0.01, 0);
    o->from = "a column";
    o->low = o->high = 57;
    made_window(&m);
    assert_near(made_setting(&m, "injection_speed")->aim, 64.0, 0.01, 0);
    assert_non_null(made_flag(&m, "other-injection-speed"));
    made_free(&m);
}

static void another_speed_says_what_to_do(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    add_speed(&m);
    made_bound(&m, "cooling", "closed_time", BOUND_LOWER, 17.3, 16.1);
    made_at(&m, "cooling", "hold_time", 6.0, 6.0);
    made_at(&m, "cooling", "injection_speed", 80, 80);
    /* without a bound that depends on it, a study may be run at any speed */
    made_at(&m, "cavity-balance", "injection_speed", 80, 80);
    made_window(&m);
    assert_string_equal(made_flag(&m, "other-injection-speed")->text,
                        "cooling was run at injection speed 80 mm/s, and the aim is 60 mm/s: its "
                        "limit on the closed time holds for 80 mm/s; repeat the shots on both "
                        "sides of that limit at 60 mm/s");
    size_t n = 0;
    for (size_t i = 0; i < m.w.n_flags; i++)
        n += strcmp(m.w.flags[i].code, "other-injection-speed") == 0;
    assert_int_equal(n, 1);
    /* no aim: nothing to compare with */
    m.f[0].n_bounds = 1;
    made_fact(&m, "running", "injection_speed", 30);
    made_window(&m);
    assert_null(made_flag(&m, "other-injection-speed"));
    made_free(&m);
}

/* A press that fills in half the time of the aim runs at about twice the speed, recorded or not. */
static void another_fill_time_is_another_speed(void **state)
{
    (void)state;
    static const struct {
        double fill;
        bool flagged;
    } cases[] = {{0.59, true}, {1.13, true}, {1.15, false}, {1.25, false}, {1.27, true}};
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        struct made m;
        made_new(&m);
        add_speed(&m);
        made_bound(&m, "viscosity", "fill_time", BOUND_LOWER, 0.9, 0.8);
        made_bound(&m, "viscosity", "fill_time", BOUND_UPPER, 1.6, 1.7); /* aim sqrt = 1.2 */
        made_bound(&m, "cooling", "closed_time", BOUND_LOWER, 17.3, 16.1);
        made_at(&m, "cooling", "hold_time", 6.0, 6.0);
        made_at(&m, "cooling", "fill_time", cases[i].fill, cases[i].fill);
        /* of the trial as a whole: the study's own fill time says more */
        made_at(&m, "cooling", "injection_speed", 60, 60)->from = "[running]";
        made_window(&m);
        const struct flag *f = made_flag(&m, "other-injection-speed");
        assert_int_equal(f != NULL, cases[i].flagged);
        if (i == 0)
            assert_string_equal(f->text,
                                "cooling was run at fill time 0.59 s, and the aim is 1.2 s: its "
                                "limit on the closed time holds for 0.59 s; repeat the shots on "
                                "both sides of that limit at an injection speed of 60 mm/s");
        made_free(&m);
    }
}

static void speed_not_recorded_is_assumed(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    add_speed(&m);
    made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 5.8, 5.1);
    made_window(&m);
    assert_null(made_flag(&m, "other-injection-speed"));
    bool said = false;
    for (size_t i = 0; i < m.w.n_assumptions; i++)
        said = said || strcmp(m.w.assumptions[i].text,
                              "At which injection speed gate-freeze was run is not recorded (a "
                              "column injection_speed would tell): its limit on the hold time "
                              "counts as found at the aim.") == 0;
    assert_true(said);
    made_free(&m);
}

static void at_another_hold_pressure(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 5.8, 5.1);
    made_at(&m, "gate-freeze", "hold_pressure", 55, 55);
    made_window(&m);
    assert_null(made_flag(&m, "other-hold-pressure"));
    made_fact(&m, "running", "hold_pressure", 57.5); /* 55 >= 0.95 x 57.5 */
    made_window(&m);
    assert_null(made_flag(&m, "other-hold-pressure"));
    m.fact[0].low = m.fact[0].high = 60;
    made_window(&m);
    assert_says(made_flag(&m, "other-hold-pressure")->text,
                "gate-freeze was run at hold pressure 55 MPa, and the one in use now is 60 MPa");
    /* the window's own aim comes first: (50 + 58) / 2 = 54 */
    made_bound(&m, "hold-window", "hold_pressure", BOUND_LOWER, 50, 48);
    made_bound(&m, "hold-window", "hold_pressure", BOUND_UPPER, 58, 60);
    made_window(&m);
    assert_null(made_flag(&m, "other-hold-pressure"));
    made_free(&m);
}

static void at_another_temperature(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 5.8, 5.1);
    add_speed(&m);
    made_at(&m, "gate-freeze", "melt_temperature", 220, 221);
    made_at(&m, "viscosity", "melt_temperature", 224, 226);
    made_window(&m);
    assert_null(made_flag(&m, "other-temperature")); /* 221 and 224 are the same */
    m.f[1].operating_point[0].low = 224.1;
    made_window(&m);
    assert_string_equal(made_flag(&m, "other-temperature")->text,
                        "gate-freeze was run at a melt temperature of 221 degC and viscosity at "
                        "224 degC: their limits do not belong to one process; repeat one of them "
                        "at the temperature production will run at");
    m.f[1].operating_point[0].low = 221;
    made_fact(&m, "running", "melt_temperature", 230);
    made_window(&m);
    assert_says(made_flag(&m, "other-temperature")->text,
                "the melt temperature in use now is 230 degC, and viscosity was run at 221 degC");
    m.fact[0].low = m.fact[0].high = 223;
    made_window(&m);
    assert_null(made_flag(&m, "other-temperature"));
    made_free(&m);
}

/* ---- the worst corner ------------------------------------------------------------------------ */

/* A rectangle of good parts: melt 205 to 225, mold 40 to 60, hold pressure 45 to 60. */
static void add_rectangle(struct made *m)
{
    static const struct {
        const char *setting;
        double low, high;
    } sides[] = {
        {"hold_pressure", 45, 60}, {"melt_temperature", 205, 225}, {"mold_temperature", 40, 60}};
    for (size_t i = 0; i < PL_COUNT(sides); i++) {
        made_bound(m, "hold-window", sides[i].setting, BOUND_LOWER, sides[i].low,
                   sides[i].low - 1.0);
        made_bound(m, "hold-window", sides[i].setting, BOUND_UPPER, sides[i].high,
                   sides[i].high + 1.0);
    }
}

static void hottest_corner_for_the_hold_time(void **state)
{
    (void)state;
    static const struct {
        double melt, mold;
        bool tested;
    } cases[] = {{225, 60, true},    {222.1, 57.1, true}, {221.9, 60, false},
                 {225, 56.9, false}, {205, 40, false},    {NAN, 60, false}};
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        struct made m;
        made_new(&m);
        add_rectangle(&m);
        made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 5.8, 5.1);
        if (!isnan(cases[i].melt))
            made_at(&m, "gate-freeze", "melt_temperature", cases[i].melt, cases[i].melt);
        made_at(&m, "gate-freeze", "mold_temperature", cases[i].mold, cases[i].mold);
        made_window(&m);
        const struct window_setting *s = made_setting(&m, "hold_time");
        assert_int_equal(s->verdict, cases[i].tested ? VERDICT_MET : VERDICT_NOT_SHOWN);
        assert_int_equal(made_flag(&m, "worst-corner-untested") == NULL, cases[i].tested);
        assert_int_equal(m.w.n_next_shots, cases[i].tested ? 0 : 1);
        assert_int_equal(m.w.verdict, s->verdict);
        assert_null(made_flag(&m, "one-temperature-only"));
        made_free(&m);
    }
}

static void the_corner_is_named(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    add_rectangle(&m);
    made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 5.8, 5.1)->grade = BOUND_CONVENTION;
    made_at(&m, "gate-freeze", "melt_temperature", 215, 215);
    made_window(&m);
    assert_string_equal(
        made_flag(&m, "worst-corner-untested")->text,
        "the limit on the hold time comes from gate-freeze, run at melt temperature "
        "215 degC, mold temperature not recorded; it is hardest to keep at corner "
        "225 degC melt temperature, 60 degC mold temperature: run the study's "
        "shots near its limit there");
    const struct next_shot *n = &m.w.next_shots[0];
    assert_string_equal(n->setting, "hold_time");
    assert_lre(n->at, 6.3, 10);
    assert_int_equal(n->shots, 3);
    assert_string_equal(n->series, "corner 225 degC melt temperature, 60 degC mold temperature");
    const struct window_setting *s = made_setting(&m, "hold_time");
    assert_says(s->because, "Not shown yet at corner 225 degC melt temperature");
    assert_false(s->by_convention); /* of a verdict that is not met */
    assert_lre(s->aim, 6.3, 10);
    made_free(&m);
}

/* The bound on cooling time was derived: the study behind it counts. */
static void hottest_corner_for_the_cooling_time(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    add_rectangle(&m);
    made_bound(&m, "cooling", "closed_time", BOUND_LOWER, 17.3, 16.1);
    made_at(&m, "cooling", "hold_time", 6.0, 6.0);
    made_at(&m, "cooling", "recovery_time", 5.0, 5.0);
    made_at(&m, "cooling", "melt_temperature", 210, 225);
    made_at(&m, "cooling", "mold_temperature", 40, 50);
    made_window(&m);
    assert_int_equal(made_setting(&m, "cooling_time")->verdict, VERDICT_NOT_SHOWN);
    assert_string_equal(m.w.next_shots[0].setting, "cooling_time");
    m.f[1].operating_point[3].high = 60;
    made_window(&m);
    assert_int_equal(made_setting(&m, "cooling_time")->verdict, VERDICT_MET);
    made_free(&m);
}

/* Cold melt is stiff: only the bound that comes from pressure depends on it. */
static void coldest_corner_for_the_pressure(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    add_rectangle(&m);
    made_bound(&m, "viscosity", "fill_time", BOUND_LOWER, 0.5, 0.5);
    made_bound(&m, "viscosity", "fill_time", BOUND_UPPER, 0.98, 1.0);
    made_at(&m, "viscosity", "melt_temperature", 225, 225);
    made_at(&m, "viscosity", "mold_temperature", 60, 60);
    made_window(&m);
    assert_int_equal(made_setting(&m, "fill_time")->verdict, VERDICT_MET);
    m.f[1].bounds[0].criterion = "pressure_use_max";
    made_window(&m);
    assert_int_equal(made_setting(&m, "fill_time")->verdict, VERDICT_NOT_SHOWN);
    assert_string_equal(m.w.next_shots[0].series,
                        "corner 205 degC melt temperature, 40 degC mold temperature");
    m.f[1].operating_point[0].low = 205;
    m.f[1].operating_point[1].low = 42;
    made_window(&m);
    assert_int_equal(made_setting(&m, "fill_time")->verdict, VERDICT_MET);
    made_free(&m);
}

/* A pressure that would do at the study's temperature is not shown to do at the coldest. */
static void coldest_corner_for_the_check(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    add_rectangle(&m);
    made_bound(&m, "viscosity", "fill_time", BOUND_LOWER, 0.5, 0.5);
    made_bound(&m, "viscosity", "fill_time", BOUND_UPPER, 0.98, 1.0);
    made_at(&m, "viscosity", "melt_temperature", 215, 215);
    made_at(&m, "viscosity", "mold_temperature", 40, 40);
    made_quantity(&m, "viscosity", "available_pressure", 160, NAN, NAN);
    for (int i = 0; i < 2; i++) {
        struct condition *c = finding_condition(&m.f[1]);
        c->series = "transfer pressure";
        c->setting_dimension = DIM_TIME;
        c->dimension = DIM_PRESSURE;
        c->setting = i == 0 ? 0.5 : 1.0;
        c->n = 3;
        c->mean = c->fitted = 90;
        c->fitted_low = 89;
        c->fitted_high = 91;
    }
    made_window(&m);
    assert_int_equal(made_check(&m, "pressure_use_max")->verdict, VERDICT_NOT_SHOWN);
    assert_says(made_check(&m, "pressure_use_max")->because,
                "not shown at corner 205 degC melt temperature, 40 degC mold temperature, where "
                "the melt is stiffest");
    m.f[1].operating_point[0].low = 207;
    made_window(&m);
    assert_int_equal(made_check(&m, "pressure_use_max")->verdict, VERDICT_MET);
    made_free(&m);
}

static void most_pressure_for_the_clamp(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    add_rectangle(&m);
    made_fact(&m, "criteria", "clamp_margin", NAN);
    m.fact[0].relative = 0.1;
    made_bound(&m, "clamp", "clamp_force", BOUND_LOWER, 400, 380);
    made_at(&m, "clamp", "hold_pressure", 56.9, 56.9); /* 60 - 5 % = 57 */
    made_window(&m);
    assert_int_equal(made_setting(&m, "clamp_force")->verdict, VERDICT_NOT_SHOWN);
    assert_string_equal(m.w.next_shots[0].series, "corner 60 MPa hold pressure");
    m.f[1].operating_point[0].low = m.f[1].operating_point[0].high = 57.1;
    made_window(&m);
    assert_int_equal(made_setting(&m, "clamp_force")->verdict, VERDICT_MET);
    made_free(&m);
}

/* No temperature and no hold pressure bounded: the point of the trial, no corner demanded. */
static void no_rectangle_no_corner(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 5.8, 5.1);
    made_window(&m);
    assert_null(made_flag(&m, "worst-corner-untested"));
    assert_non_null(made_flag(&m, "one-temperature-only"));
    assert_int_equal(m.w.n_next_shots, 0);
    made_free(&m);
}

/* ---- hardly a window ------------------------------------------------------------------------- */

static void narrow_by_ratio(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    made_bound(&m, "viscosity", "injection_speed", BOUND_LOWER, 40, 38)->grade = BOUND_CONVENTION;
    made_bound(&m, "press", "injection_speed", BOUND_UPPER, 43.8, 45);
    made_window(&m);
    assert_string_equal(
        made_flag(&m, "narrow-window")->text,
        "the limits on the injection speed, 40 mm/s and 43.8 mm/s, from viscosity and press, leave "
        "3.8 mm/s, 9.5 % of the lower one: watch it closely; for more room, decide "
        "whether the lower one, a convention, may give way");
    assert_int_equal(made_flag(&m, "narrow-window")->grade, FLAG_DOUBT);
    assert_true(isfinite(made_setting(&m, "injection_speed")->aim));
    m.f[1].bounds[0].value = 44.1; /* more than 10 % */
    made_window(&m);
    assert_null(made_flag(&m, "narrow-window"));
    m.f[1].bounds[0].value = 39.9; /* crossing is said otherwise */
    made_window(&m);
    assert_null(made_flag(&m, "narrow-window"));
    made_free(&m);
}

static void narrow_by_the_scatter_of_the_press(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    made_bound(&m, "hold-window", "hold_pressure", BOUND_LOWER, 40, 38);
    made_bound(&m, "hold-window", "hold_pressure", BOUND_UPPER, 50, 52);
    made_fact(&m, "press", "pressure_repeatability", 1.6); /* 6 x 1.6 = 9.6 */
    made_window(&m);
    assert_null(made_flag(&m, "narrow-window"));
    m.fact[0].low = 1.7; /* 10.2 */
    made_window(&m);
    assert_says(made_flag(&m, "narrow-window")->text,
                "less than 6 times the press's measured scatter of 1.7 MPa");
    made_free(&m);
}

/* 200 to 210 degC is no ratio. */
static void temperatures_have_no_ratio(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    made_bound(&m, "hold-window", "melt_temperature", BOUND_LOWER, 200, 198);
    made_bound(&m, "hold-window", "melt_temperature", BOUND_UPPER, 210, 212);
    made_window(&m);
    assert_null(made_flag(&m, "narrow-window"));
    made_free(&m);
}

/* One pair of limits, seen as a speed and as a fill time: said once. */
static void mirrored_limits_are_said_once(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    made_bound(&m, "viscosity", "injection_speed", BOUND_LOWER, 40, 38);
    made_bound(&m, "viscosity", "injection_speed", BOUND_UPPER, 43, 45);
    made_bound(&m, "viscosity", "fill_time", BOUND_LOWER, 0.60, 0.59);
    made_bound(&m, "viscosity", "fill_time", BOUND_UPPER, 0.645, 0.65);
    made_window(&m);
    size_t n = 0;
    for (size_t i = 0; i < m.w.n_flags; i++)
        n += strcmp(m.w.flags[i].code, "narrow-window") == 0;
    assert_int_equal(n, 1);
    assert_says(made_flag(&m, "narrow-window")->text, "(in fill time 0.6 s to 0.645 s)");
    made_free(&m);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(at_another_speed),
        cmocka_unit_test(the_aim_stays_where_studies_were_run),
        cmocka_unit_test(another_speed_says_what_to_do),
        cmocka_unit_test(another_fill_time_is_another_speed),
        cmocka_unit_test(speed_not_recorded_is_assumed),
        cmocka_unit_test(at_another_hold_pressure),
        cmocka_unit_test(at_another_temperature),
        cmocka_unit_test(hottest_corner_for_the_hold_time),
        cmocka_unit_test(the_corner_is_named),
        cmocka_unit_test(hottest_corner_for_the_cooling_time),
        cmocka_unit_test(coldest_corner_for_the_pressure),
        cmocka_unit_test(coldest_corner_for_the_check),
        cmocka_unit_test(most_pressure_for_the_clamp),
        cmocka_unit_test(no_rectangle_no_corner),
        cmocka_unit_test(narrow_by_ratio),
        cmocka_unit_test(narrow_by_the_scatter_of_the_press),
        cmocka_unit_test(temperatures_have_no_ratio),
        cmocka_unit_test(mirrored_limits_are_said_once),
    };
    return cmocka_run_group_tests_name("window: operating points", tests, NULL, NULL);
}
