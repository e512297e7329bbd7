/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A short trial against the record it was made from. Limits, verdicts and intervals are worked out
 * by hand; quantiles of Student's t by R 4. */
#include "plateau/read.h"
#include "window_make.h"

#define T_3 3.182446305284263 /* qt(0.975, 3) */

#define HOLD                                                                                       \
    "hold_time.aim = 8.5 s\nhold_time.low = 8 s\nhold_time.low_from = gate-freeze\n"               \
    "hold_time.low_kind = limit\nhold_time.low_why = cavity 3 freezes last\n"                      \
    "hold_time.verdict = met\n"
#define SPEED                                                                                      \
    "injection_speed.aim = 59 mm/s\ninjection_speed.low = 23 mm/s\n"                               \
    "injection_speed.low_kind = convention\ninjection_speed.high = 150 mm/s\n"                     \
    "injection_speed.high_why = the one at 200 mm/s shows \"flash\"; not tried again\n"            \
    "injection_speed.high_from = viscosity\ninjection_speed.verdict = met\n"
#define COOLING "cooling_time.aim = 13.9 s\ncooling_time.low = 13.3 s\ncooling_time.verdict = met\n"
#define PRESSURE                                                                                   \
    "transfer_pressure.expected = 638 bar\ntransfer_pressure.interval = 628..649 bar\n"            \
    "transfer_pressure.alarm = 620..657 bar\ntransfer_pressure.expected_from = viscosity\n"

/* A trial.ini with this under [approved]. */
static void approve(struct made *m, const char *keys)
{
    made_new(m);
    const char *ini = arena_printf(
        m->a, "[trial]\ntitle = New lot\n[approved]\nrecord = old/record.json\n%s", keys);
    struct read_request request = {0};
    struct diag_list diags;
    struct error e = {0};
    diag_init(&diags, m->a);
    assert_int_equal(
        facts_load_bytes(m->a, "trial.ini", ini, strlen(ini), &request, &m->facts, &diags, &e),
        ERR_NONE);
    assert_int_equal(diags.n, 0);
}

static struct condition *add(struct made *m, const char *study, const char *series, double x,
                             double mean, double sd, size_t n)
{
    struct condition *c = finding_condition(made_finding(m, study));
    c->series = series;
    c->setting = x;
    c->setting_dimension = strcmp(study, "viscosity") == 0 ? DIM_SPEED : DIM_TIME;
    c->dimension = strstr(series, "pressure") != NULL ? DIM_PRESSURE : DIM_MASS;
    c->mean = mean;
    c->sd = sd;
    c->n = n;
    return c;
}

/* ---- hold time: the limit of the lot against 8 s and the aim of 8.5 s -------------------------
 */

struct hold_row {
    const char *what;
    double value, low; /* of the lot's limit; value NAN: none */
    double shortest;   /* tested, of those up to 14.5 s */
    enum verdict study, want;
    double want_low, want_aim;
    const char *says;
};

static const struct hold_row holds[] = {
    {"frozen at the limit", 8.0, 6.7, 6.7, VERDICT_MET, VERDICT_MET, 8.0, 8.5, "Set 8.5 s"},
    {"nothing is known between 6.7 s and the aim", 8.5, 6.7, 6.7, VERDICT_MET, VERDICT_MET, 8.0,
     8.5, "In these shots the new lot needs at least 8.5 s, and the approved aim gives it."},
    {"frozen at the shortest, which is the aim", 8.5, 0.0, 8.5, VERDICT_MET, VERDICT_MET, 8.0, 8.5,
     "Set 8.5 s, as approved."},
    {"frozen at the shortest, beyond the aim", 10.5, 0.0, 10.5, VERDICT_MET, VERDICT_NOT_SHOWN, 8.0,
     8.5, "Approved: at least 8.0 s, from gate-freeze: cavity 3 freezes last."},
    {"later, and the aim still lies beyond", 8.4, 8.1, 6.7, VERDICT_MET, VERDICT_MET, 8.4, 8.5,
     "The new lot has a limit of its own, at least 8.4 s"},
    {"open at the approved limit, which was run", 8.4, 8.0, 6.7, VERDICT_MET, VERDICT_MET, 8.4, 8.5,
     "lies on its safe side"},
    {"from below the aim to above it", 11.5, 6.7, 6.7, VERDICT_MET, VERDICT_NOT_SHOWN, 8.0, 8.5,
     "These shots cannot tell whether 8.5 s is enough for the new lot: its limit lies from 6.7 s "
     "to 11.5 s."},
    {"open at the aim, which was run", 11.5, 8.5, 6.7, VERDICT_MET, VERDICT_NOT_MET, 11.5, NAN,
     "lies on its wrong side"},
    {"open beyond the aim", 11.5, 9.0, 6.7, VERDICT_MET, VERDICT_NOT_MET, 11.5, NAN,
     "The new lot has a limit of its own, at least 11.5 s, from gate-freeze"},
    {"not flat", NAN, NAN, 6.7, VERDICT_NOT_MET, VERDICT_NOT_MET, 8.0, 8.5, "The new lot: "},
    {"not told", NAN, NAN, 6.7, VERDICT_NOT_SHOWN, VERDICT_NOT_SHOWN, 8.0, 8.5, "The new lot: "},
};

static void hold_time_of_the_lot(void **state)
{
    (void)state;
    for (size_t i = 0; i < PL_COUNT(holds); i++) {
        const struct hold_row *h = &holds[i];
        struct made m;
        print_message("%s\n", h->what);
        approve(&m, HOLD);
        struct finding *f = made_finding(&m, "gate-freeze");
        f->verdict = h->study;
        f->decision = "what the study says";
        for (double x = h->shortest; x < 15.0; x += 14.5 - h->shortest)
            add(&m, "gate-freeze", "parts", x, 12.0, 0.003, 3);
        if (isfinite(h->value))
            made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, h->value, h->low);
        const struct window *w = made_window(&m);
        const struct window_setting *s = made_setting(&m, "hold_time");
        assert_int_equal(s->verdict, h->want);
        assert_near(s->low_value, h->want_low, 0, 1e-12);
        assert_true(isnan(h->want_aim) ? isnan(s->aim) : fabs(s->aim - h->want_aim) < 1e-12);
        assert_says(s->because, h->says);
        assert_int_equal(w->verdict, h->want);
        made_free(&m);
    }
}

/* The study's own verdict on few shots is not that of the lot. */
static void study_verdict_is_replaced(void **state)
{
    (void)state;
    struct made m;
    approve(&m, SPEED);
    made_finding(&m, "viscosity")->verdict = VERDICT_NOT_SHOWN;
    add(&m, "viscosity", "transfer pressure", 59, 63.8, 0.3, 3);
    assert_int_equal(made_window(&m)->verdict, VERDICT_MET);
    made_finding(&m, "cavity-balance")->verdict = VERDICT_NOT_SHOWN;
    assert_int_equal(made_window(&m)->verdict, VERDICT_NOT_SHOWN);
    made_free(&m);
}

/* ---- speed ------------------------------------------------------------------------------------
 */

/* The knee of three speeds is no limit of the lot, nor is the fastest of them. */
static void conventions_make_no_aim(void **state)
{
    (void)state;
    struct made m;
    approve(&m, SPEED);
    add(&m, "viscosity", "transfer pressure", 32, 53.0, 0.3, 2);
    add(&m, "viscosity", "transfer pressure", 59, 63.8, 0.3, 2);
    add(&m, "viscosity", "transfer pressure", 132, 81.0, 0.3, 2);
    struct bound *knee = made_bound(&m, "viscosity", "injection_speed", BOUND_LOWER, 69.0, 60.0);
    knee->grade = BOUND_CONVENTION;
    knee->criterion = "viscosity_tolerance";
    made_bound(&m, "viscosity", "injection_speed", BOUND_UPPER, 132.0, 132.0);
    made_window(&m);
    const struct window_setting *s = made_setting(&m, "injection_speed");
    assert_near(s->low_value, 23.0, 0, 1e-12);
    assert_near(s->high_value, 150.0, 0, 1e-12);
    assert_near(s->aim, 59.0, 0, 1e-12);
    assert_int_equal(s->verdict, VERDICT_MET);
    assert_string_equal(s->decided_by, "approved record");
    assert_says(s->because, "at most 150 mm/s, from viscosity: the one at 200 mm/s shows "
                            "\"flash\"; not tried again.");
    assert_null(made_flag(&m, "running-outside"));
    made_free(&m);
}

/* 100 mm/s is good, 150 mm/s, allowed until now, flashes. */
static void new_flash_is_a_limit(void **state)
{
    (void)state;
    struct made m;
    approve(&m, SPEED);
    add(&m, "viscosity", "transfer pressure", 59, 63.8, 0.3, 2);
    add(&m, "viscosity", "transfer pressure", 100, 74.0, 0.3, 2);
    add(&m, "viscosity", "transfer pressure", 150, 84.0, 0.3, 2);
    made_bound(&m, "viscosity", "injection_speed", BOUND_UPPER, 100.0, 150.0)->because =
        "the one at 150 mm/s shows \"flash\"";
    made_window(&m);
    const struct window_setting *s = made_setting(&m, "injection_speed");
    assert_near(s->high_value, 100.0, 0, 1e-12);
    assert_near(s->aim, 59.0, 0, 1e-12);
    assert_int_equal(s->verdict, VERDICT_MET);
    made_free(&m);
}

static void aim_not_run_and_aim_held(void **state)
{
    (void)state;
    struct made m;
    approve(&m, SPEED);
    add(&m, "viscosity", "transfer pressure", 60, 63.8, 0.3, 2);
    made_window(&m);
    assert_int_equal(made_setting(&m, "injection_speed")->verdict, VERDICT_NOT_SHOWN);
    add(&m, "viscosity", "transfer pressure", 59, 63.8, 0.3, 2)->left_out = "held by the limit";
    made_window(&m);
    assert_int_equal(made_setting(&m, "injection_speed")->verdict, VERDICT_NOT_MET);
    assert_says(made_setting(&m, "injection_speed")->because,
                "At 59 mm/s the new lot was held by a limit of the press");
    made_free(&m);
}

/* What was not shown before a lot change is not shown by it. */
static void approved_verdict_stays(void **state)
{
    (void)state;
    struct made m;
    approve(&m, "injection_speed.aim = 59 mm/s\ninjection_speed.high = 150 mm/s\n"
                "injection_speed.verdict = not shown\n");
    add(&m, "viscosity", "transfer pressure", 59, 63.8, 0.3, 2);
    made_window(&m);
    assert_int_equal(made_setting(&m, "injection_speed")->verdict, VERDICT_NOT_SHOWN);
    assert_says(made_setting(&m, "injection_speed")->because,
                "In the approved record it was not shown.");
    made_free(&m);
}

static void not_tried_is_no_verdict(void **state)
{
    (void)state;
    struct made m;
    approve(&m, HOLD COOLING);
    add(&m, "gate-freeze", "parts", 6.7, 12.0, 0.003, 3);
    made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 8.0, 6.7);
    const struct window *w = made_window(&m);
    const struct window_setting *s = made_setting(&m, "cooling_time");
    assert_int_equal(s->verdict, VERDICT_NONE);
    assert_near(s->aim, 13.9, 0, 1e-12);
    assert_says(s->because, "This short trial did not try it on the new lot.");
    assert_int_equal(w->verdict, VERDICT_MET);
    assert_string_equal(made_check(&m, "approved_window")->because,
                        "The approved window holds for this lot in what this short trial tried: "
                        "hold time; not tried: cooling time.");
    made_free(&m);
}

/* ---- responses --------------------------------------------------------------------------------
 */

struct pressure_row {
    const char *what;
    double mean, sd; /* MPa, at the aim, two shots */
    size_t n;
    enum verdict want;
    const char *says;
};

/* Pooled over three settings of two shots each, dof 3: half = T_3 sd / sqrt(2). */
static const struct pressure_row pressures[] = {
    {"as expected", 63.9, 0.2, 2, VERDICT_MET, "expected 638 bar, alarm below 620 or above 657"},
    {"stiffer", 73.3, 0.2, 2, VERDICT_NOT_MET,
     "at 59 mm/s the pressure at transfer was 733 bar (728 to 738 bar); expected 638 bar, "
     "alarm "
     "below 620 or above 657 bar: the melt is stiffer than in the approved trial"},
    {"thinner", 58.0, 0.2, 2, VERDICT_NOT_MET, "the melt is thinner than in the approved trial"},
    {"at the alarm", 65.7, 0.2, 2, VERDICT_NOT_SHOWN, "these shots cannot tell"},
    {"too much scatter", 63.9, 2.0, 2, VERDICT_NOT_SHOWN, "these shots cannot tell"},
    {"single shots", 63.9, NAN, 1, VERDICT_NOT_SHOWN, "its scatter is not known"},
};

static void pressure_of_the_lot(void **state)
{
    (void)state;
    for (size_t i = 0; i < PL_COUNT(pressures); i++) {
        const struct pressure_row *p = &pressures[i];
        struct made m;
        print_message("%s\n", p->what);
        approve(&m, SPEED PRESSURE);
        m.premises.display[DIM_PRESSURE] = (struct display_unit){"bar", 0.1, 0.0};
        const double at[3] = {32, 59, 150};
        for (int k = 0; k < 3; k++)
            add(&m, "viscosity", "transfer pressure", at[k], p->mean, p->sd, p->n);
        const struct window *w = made_window(&m);
        const struct criterion *c = made_check(&m, "approved_transfer_pressure");
        assert_int_equal(c->verdict, p->want);
        assert_says(c->because, p->says);
        if (p->n > 1) {
            assert_lre(c->value, p->mean, 9);
            assert_lre(c->high - c->value, T_3 * p->sd / sqrt(2.0), 7);
            assert_lre(c->value - c->low, T_3 * p->sd / sqrt(2.0), 7);
        }
        assert_int_equal(w->verdict, p->want);
        assert_near(made_expected(&m, "transfer_pressure")->value, 63.8, 0, 1e-9);
        assert_near(made_expected(&m, "transfer_pressure")->alarm_high, 65.7, 0, 1e-9);
        assert_string_equal(made_expected(&m, "transfer_pressure")->because,
                            "approved record: viscosity");
        made_free(&m);
    }
}

static void in_one_sentence(void **state)
{
    (void)state;
    struct made m;
    approve(&m, SPEED HOLD COOLING PRESSURE);
    for (int k = 0; k < 2; k++)
        add(&m, "viscosity", "transfer pressure", 59, 73.3, 0.2, 2);
    add(&m, "gate-freeze", "parts", 6.7, 12.0, 0.003, 3);
    made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 11.5, 6.7);
    made_window(&m);
    assert_string_equal(made_check(&m, "approved_window")->because,
                        "The approved window does not hold for this lot: pressure at transfer; "
                        "not shown: hold time; not tried: cooling time.");
    made_free(&m);
    made_new(&m); /* no record: no short trial */
    made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 8.5, 6.7);
    made_window(&m);
    assert_null(made_check(&m, "approved_window"));
    assert_near(made_setting(&m, "hold_time")->aim, 9.0, 0, 1e-9);
    made_free(&m);
}

/* Where one cavity freezes apart, the weight is still that of all parts. */
static void weight_of_all_parts(void **state)
{
    (void)state;
    struct made m;
    approve(&m, HOLD "part_weight.expected = 12.288 g\npart_weight.alarm = 12.276..12.302 g\n");
    for (int k = 0; k < 2; k++) {
        add(&m, "gate-freeze", "parts", 8.5, 12.266, 0.002, 3);
        add(&m, "gate-freeze", "all parts", 8.5, 12.287, 0.002, 3);
    }
    made_window(&m);
    assert_int_equal(made_check(&m, "approved_part_weight")->verdict, VERDICT_MET);
    assert_near(made_check(&m, "approved_part_weight")->value, 12.287, 0, 1e-9);
    made_free(&m);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(hold_time_of_the_lot),     cmocka_unit_test(study_verdict_is_replaced),
        cmocka_unit_test(conventions_make_no_aim),  cmocka_unit_test(new_flash_is_a_limit),
        cmocka_unit_test(aim_not_run_and_aim_held), cmocka_unit_test(approved_verdict_stays),
        cmocka_unit_test(not_tried_is_no_verdict),  cmocka_unit_test(pressure_of_the_lot),
        cmocka_unit_test(in_one_sentence),          cmocka_unit_test(weight_of_all_parts),
    };
    return cmocka_run_group_tests_name("window: short trials", tests, NULL, NULL);
}
