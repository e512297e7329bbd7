/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Bounds that exclude each other by construction. `no window` is said where even the optimistic
 * ends of two limits cross, and nowhere else; an aim is given in neither case. Fill time and speed
 * go through the viscosity and pressure-drop studies on noise-free data with a known melt; the
 * other settings on bounds made by hand. */
#include "../unit/window_make.h"
#include "plateau/study.h"

extern const struct study study_viscosity, study_pressure_drop;

/* ---- studies -----------------------------------------------------------------------------------
 */

static void run(struct made *m, const struct study *s, const char *csv, const char *ini)
{
    struct study_input in = {s->name, s->columns, s->n_columns};
    struct read_request q = {&in, 1, s->criteria, s->n_criteria};
    struct trial *trial = ARENA_NEW(m->a, struct trial);
    struct table *table = ARENA_NEW(m->a, struct table);
    struct diag_list diags;
    struct error e = {0};
    diag_init(&diags, m->a);
    assert_int_equal(
        facts_load_bytes(m->a, "trial.ini", ini, strlen(ini), &q, &trial->facts, &diags, &e),
        ERR_NONE);
    assert_int_equal(
        table_load_bytes(m->a, s->name, csv, strlen(csv), &in, &trial->facts, table, &diags, &e),
        ERR_NONE);
    for (size_t i = 0; i < diags.n; i++)
        if (diags.items[i].severity == DIAG_ERROR)
            fail_msg("%s: %s", diags.items[i].code, diags.items[i].message);
    struct finding *f = &m->f[m->n++];
    finding_init(f, m->a, s->name, s->title);
    assert_int_equal(s->analyze(trial, table, f, &e), ERR_NONE);
}

/* Carreau, e0 = 60 MPa s, lambda = 1 s, n = 0.3, over fill times from 0.05 to 8 s: the slow end is
 * nearly Newtonian and the fast one far below it, so that the fall seen, and with it the knee,
 * hardly depends on where the trial ends. At the usual tolerance of 5 % such a melt has no knee at
 * all; at 3 % it has. */
#define TOLERANCE "[criteria]\nviscosity_tolerance = 3 %\n"
static double carreau(double t)
{
    double g = 1.0 / t;
    return 60.0 * g * pow(1.0 + g * g, (0.3 - 1.0) / 2.0);
}

static double power_law(double t)
{
    return 40.0 * pow(t, -0.35);
}

/* Readings that repeat exactly look like those of a press that is held by its limit. */
#define EXACT 1e-7

#define LENGTH 60.0 /* mm: fill time = LENGTH / speed */

static const char *viscosity_csv(struct arena *a, double (*pressure)(double), double scatter)
{
    static const double fills[] = {8, 5, 3.2, 2, 1.25, 0.8, 0.5, 0.32, 0.2, 0.125, 0.08, 0.05};
    static const double off[3] = {-1, 1, 0}; /* deterministic scatter */
    struct text t;
    text_init(&t, a);
    text_add(&t, "injection_speed [mm/s],fill_time [s],melt_pressure [MPa]\n");
    for (size_t i = 0; i < PL_COUNT(fills); i++)
        for (size_t j = 0; j < 3; j++)
            /* a 1 at the end: the timer shows every digit */
            text_addf(&t, "%.10f,%.10f1,%.10f\n", LENGTH / fills[i], fills[i],
                      pressure(fills[i]) * (1.0 + scatter * off[(i + j) % 3]));
    return t.s;
}

/* The supplier's rate that a round gate of 1.2 mm and 4.4 cm3 reach at this fill time. */
static const char *gate_ini(struct arena *a, double fill_time)
{
    double rate = 4.0 * 0.98 * 4400.0 / (3.14159265358979323846 * 0.6 * 0.6 * 0.6 * fill_time);
    return arena_printf(a,
                        "[mold]\ncavities = 1\ngates_per_cavity = 1\ngate_diameter = 1.2 mm\n"
                        "part_volume = 4400 mm3\n[material]\nmax_shear_rate = %.9f 1/s\n%s",
                        rate, TOLERANCE);
}

static const struct bound *knee_of(const struct made *m)
{
    for (size_t i = 0; i < m->f[0].n_bounds; i++)
        if (strcmp(m->f[0].bounds[i].setting, "fill_time") == 0 &&
            m->f[0].bounds[i].side == BOUND_UPPER)
            return &m->f[0].bounds[i];
    fail_msg("no knee");
    return NULL;
}

/* low + share x (high - low), or `beyond` times high. */
struct gate {
    const char *name;
    double (*melt)(double);
    double scatter, inside, beyond;
    enum verdict verdict;
    size_t none;
};

static const struct gate gates[] = {
    {"limits cross by 1 %", carreau, EXACT, NAN, 1.01, VERDICT_NOT_MET, 2},
    {"limits cross by 50 %", carreau, EXACT, NAN, 1.50, VERDICT_NOT_MET, 2},
    {"limits cross by 1 % of a wide interval", carreau, 0.01, NAN, 1.01, VERDICT_NOT_MET, 2},
    {"cross near the safe end of the interval", carreau, 0.01, 0.05, NAN, VERDICT_NOT_SHOWN, 0},
    {"cross in the middle of the interval", carreau, 0.01, 0.5, NAN, VERDICT_NOT_SHOWN, 0},
    {"cross near the other end", carreau, 0.01, 0.95, NAN, VERDICT_NOT_SHOWN, 0},
    {"a convention is passed by 1 %", power_law, EXACT, NAN, 1.01, VERDICT_NOT_SHOWN, 0},
    {"a convention is passed by 50 %", power_law, EXACT, NAN, 1.50, VERDICT_NOT_SHOWN, 0},
};

static void gate_against_knee(void **state)
{
    const struct gate *g = *state;
    struct made m;
    made_new(&m);
    const char *csv = viscosity_csv(m.a, g->melt, g->scatter);
    run(&m, &study_viscosity, csv, TOLERANCE);
    const struct bound *knee = knee_of(&m);
    assert_int_equal(knee->grade, g->melt == carreau ? BOUND_LIMIT : BOUND_CONVENTION);
    double t = isnan(g->beyond) ? knee->value + g->inside * (knee->high - knee->value)
                                : g->beyond * knee->high;
    print_message("knee %.4f s (to %.4f s), gate %.4f s\n", knee->value, knee->high, t);
    m.n = 0;
    run(&m, &study_viscosity, csv, gate_ini(m.a, t));
    made_window(&m);
    static const char *const settings[] = {"fill_time", "injection_speed"};
    for (size_t i = 0; i < 2; i++) {
        const struct window_setting *s = made_setting(&m, settings[i]);
        assert_string_equal(verdict_text(s->verdict), verdict_text(g->verdict));
        assert_true(isnan(s->aim));
        assert_true(s->low_value > s->high_value);
        if (g->verdict == VERDICT_NOT_SHOWN)
            assert_says(s->because, "shots");
    }
    assert_int_equal(m.w.n_none, g->none);
    assert_int_equal(m.w.verdict, g->verdict);
    assert_null(made_flag(&m, "narrow-window"));
    made_free(&m);
}

/* 5 % short of crossing: a window, an aim, and a word on how narrow it is. */
static void not_quite_crossing(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    const char *csv = viscosity_csv(m.a, carreau, EXACT);
    run(&m, &study_viscosity, csv, TOLERANCE);
    double t = knee_of(&m)->value / 1.05;
    m.n = 0;
    run(&m, &study_viscosity, csv, gate_ini(m.a, t));
    made_window(&m);
    assert_int_equal(made_setting(&m, "injection_speed")->verdict, VERDICT_MET);
    assert_true(isfinite(made_setting(&m, "injection_speed")->aim));
    assert_non_null(made_flag(&m, "narrow-window"));
    /* the aims name one process: LENGTH / speed */
    assert_near(made_setting(&m, "fill_time")->aim,
                LENGTH / made_setting(&m, "injection_speed")->aim, 2e-3, 0);
    made_free(&m);
}

/* The share of the pressure is a convention, however clear the crossing. */
static void pressure_against_knee(void **state)
{
    (void)state;
    static const double beyond[] = {1.01, 1.50};
    for (size_t i = 0; i < 2; i++) {
        struct made m;
        made_new(&m);
        const char *csv = viscosity_csv(m.a, carreau, EXACT);
        run(&m, &study_viscosity, csv, TOLERANCE);
        double t = beyond[i] * knee_of(&m)->high;
        m.n = 0;
        run(&m, &study_viscosity, csv,
            arena_printf(m.a,
                         "[press]\nmax_injection_pressure = 200 MPa\npressure_basis = melt\n"
                         "%spressure_use_max = %.10f %%\n",
                         TOLERANCE, 0.5 * carreau(t)));
        made_window(&m);
        const struct window_setting *s = made_setting(&m, "fill_time");
        assert_true(isnan(s->aim));
        assert_string_equal(verdict_text(s->verdict), "not shown");
        assert_int_equal(m.w.n_none, 0);
        made_free(&m);
    }
}

/* ---- the cap and viscosity's own bound are one on consistent data
 * -------------------------------- */

static void cap_agrees_with_viscosity(void **state)
{
    (void)state;
    static const double speeds[] = {30.0, 75.0, 120.0}; /* of pressure-drop */
    for (size_t i = 0; i < PL_COUNT(speeds); i++) {
        struct made m;
        made_new(&m);
        /* 48.75 % of 120 MPa = 58.5 MPa: reached in (40 / 58.5)^(1 / 0.35) s */
        const char *ini = "[press]\nmax_injection_pressure = 120 MPa\npressure_basis = melt\n"
                          "[criteria]\npressure_use_max = 48.75 %\n";
        double t = LENGTH / speeds[i], want = pow(40.0 / 58.5, 1.0 / 0.35);
        /* as many digits as the studies keep: their intervals are only as wide as the last one */
        run(&m, &study_viscosity, viscosity_csv(m.a, power_law, EXACT), ini);
        struct text csv;
        text_init(&csv, m.a);
        text_add(&csv, "stage,peak_pressure [MPa],injection_speed [mm/s],fill_time [s]\n");
        static const double shares[] = {0.3, 0.6, 1.0};
        static const char *const names[] = {"nozzle", "runner", "part"};
        for (size_t k = 0; k < 3; k++)
            for (size_t j = 0; j < 3; j++)
                text_addf(&csv, "%s,%.10f,%.6f,%.10f\n", names[k], shares[k] * power_law(t),
                          speeds[i], t);
        run(&m, &study_pressure_drop, csv.s, ini);
        made_fact(&m, "criteria", "pressure_use_max", 0.4875);
        made_window(&m);
        const struct window_setting *s = made_setting(&m, "fill_time");
        const struct bound *own = NULL, *cap = NULL;
        for (size_t k = 0; k < 1 + s->n_runners_up; k++) {
            const struct bound *b = k == 0 ? s->low : s->runners_up[k - 1];
            if (b->side == BOUND_LOWER && strcmp(b->study, "pressure-drop") == 0)
                cap = b;
            if (b->side == BOUND_LOWER && strcmp(b->study, "viscosity") == 0 &&
                b->criterion != NULL && strcmp(b->criterion, "pressure_use_max") == 0)
                own = b;
        }
        assert_non_null(own);
        assert_non_null(cap);
        assert_lre(own->value, want, 6);
        assert_lre(cap->value, want, 6);
        s = made_setting(&m, "injection_speed");
        cap = NULL;
        for (size_t k = 0; k < 1 + s->n_runners_up; k++) {
            const struct bound *b = k == 0 ? s->high : s->runners_up[k - 1];
            if (b->side == BOUND_UPPER && strcmp(b->study, "pressure-drop") == 0)
                cap = b;
        }
        assert_non_null(cap);
        assert_lre(cap->value, LENGTH / want, 6);
        made_free(&m);
    }
}

/* ---- every setting, by hand
 * ----------------------------------------------------------------------- */

static const struct {
    const char *setting;
    double at;
} settings[] = {
    {"clamp_force", 900},      {"closed_time", 15},       {"cooling_time", 10},
    {"fill_time", 0.6},        {"hold_pressure", 50},     {"hold_time", 6},
    {"injection_speed", 80},   {"melt_temperature", 220}, {"mold_temperature", 50},
    {"transfer_pressure", 90},
};

static void hand_made(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double low, low_end, high, high_end; /* in units of the value below */
        enum bound_grade low_grade, high_grade;
        bool none;
    } cases[] = {
        {"by 1 %, exact", 1.01, 1.01, 1.00, 1.00, BOUND_LIMIT, BOUND_LIMIT, true},
        {"by 50 %, exact", 1.50, 1.50, 1.00, 1.00, BOUND_LIMIT, BOUND_LIMIT, true},
        {"by 1 % at the optimistic ends", 1.11, 1.01, 0.90, 1.00, BOUND_LIMIT, BOUND_LIMIT, true},
        {"inside both intervals", 1.05, 0.97, 0.95, 1.02, BOUND_LIMIT, BOUND_LIMIT, false},
        {"inside one interval", 1.05, 0.99, 1.00, 1.00, BOUND_LIMIT, BOUND_LIMIT, false},
        {"open interval", 1.50, -PL_INF, 1.00, 1.00, BOUND_LIMIT, BOUND_LIMIT, false},
        {"lower is a convention", 1.50, 1.50, 1.00, 1.00, BOUND_CONVENTION, BOUND_LIMIT, false},
        {"upper is a convention", 1.50, 1.50, 1.00, 1.00, BOUND_LIMIT, BOUND_CONVENTION, false},
        {"both are", 1.01, 1.01, 1.00, 1.00, BOUND_CONVENTION, BOUND_CONVENTION, false},
    };
    for (size_t i = 0; i < PL_COUNT(settings); i++)
        for (size_t k = 0; k < PL_COUNT(cases); k++) {
            struct made m;
            made_new(&m);
            double v = settings[i].at;
            made_bound(&m, "a", settings[i].setting, BOUND_LOWER, v * cases[k].low,
                       v * cases[k].low_end)
                ->grade = cases[k].low_grade;
            made_bound(&m, "b", settings[i].setting, BOUND_UPPER, v * cases[k].high,
                       v * cases[k].high_end)
                ->grade = cases[k].high_grade;
            made_window(&m);
            const struct window_setting *s = made_setting(&m, settings[i].setting);
            enum verdict want = cases[k].none ? VERDICT_NOT_MET : VERDICT_NOT_SHOWN;
            if (s->verdict != want || m.w.n_none != cases[k].none || !isnan(s->aim))
                fail_msg("%s, %s: %s", settings[i].setting, cases[k].name,
                         verdict_text(s->verdict));
            made_free(&m);
        }
}

/* The derived bound on the cooling timer counts like any other. */
static void derived_bound_crosses(void **state)
{
    (void)state;
    static const double upper[] = {10.3 / 1.01, 10.3 / 1.5, 10.0};
    for (size_t i = 0; i < 3; i++) {
        struct made m;
        made_new(&m);
        /* 17.1 - 0.8 - 6 = 10.3; in the third case the interval reaches down to 9.9 */
        made_bound(&m, "cooling", "closed_time", BOUND_LOWER, 17.1, i < 2 ? 17.1 : 16.7);
        made_at(&m, "cooling", "fill_time", 0.8, 0.8);
        made_at(&m, "cooling", "hold_time", 6.0, 6.0);
        made_at(&m, "cooling", "recovery_time", 5.0, 5.0);
        made_bound(&m, "runs", "cooling_time", BOUND_UPPER, upper[i], upper[i]);
        made_window(&m);
        assert_int_equal(made_setting(&m, "cooling_time")->verdict,
                         i < 2 ? VERDICT_NOT_MET : VERDICT_NOT_SHOWN);
        assert_int_equal(m.w.n_none, i < 2 ? 1 : 0);
        assert_true(isnan(made_setting(&m, "cooling_time")->aim));
        made_free(&m);
    }
}

/* ---- the shots that would open it
 * ------------------------------------------------------------------ */

static void the_shots_are_named(void **state)
{
    (void)state;
    struct made m;
    made_new(&m);
    made_bound(&m, "gate-freeze", "hold_time", BOUND_LOWER, 6.0, 5.0);
    made_bound(&m, "runs", "hold_time", BOUND_UPPER, 5.8, 6.2);
    made_window(&m);
    /* neither study names any: the middle of either interval */
    assert_string_equal(
        made_setting(&m, "hold_time")->because,
        "The safe ends of the bounds from gate-freeze and runs cross, but their intervals overlap: "
        "more shots narrow the intervals and may open a window. Shots that may open it: 3 shots at "
        "hold time 5.5 s (gate-freeze); 3 shots at hold time 6.0 s (runs).");
    assert_int_equal(m.w.n_next_shots, 2);
    assert_lre(m.w.next_shots[0].at, 5.5, 10);
    assert_string_equal(m.w.next_shots[0].why, "the bounds on the hold time from gate-freeze and "
                                               "runs cross within their intervals");
    struct next_shot *n = finding_next_shot(&m.f[0]);
    n->setting = "hold_time";
    n->dimension = DIM_TIME;
    n->at = 5.4;
    n->shots = 5;
    n->series = "cavity 3";
    made_window(&m);
    assert_says(made_setting(&m, "hold_time")->because,
                "Shots that may open it: 5 shots at hold time 5.4 s (gate-freeze, cavity 3).");
    assert_int_equal(m.w.n_next_shots, 0); /* the study asks for them itself */
    /* beyond the intervals no shot helps */
    m.f[0].n_next_shots = 0;
    m.f[0].bounds[0].low = 5.9;
    m.f[1].bounds[0].high = 5.85;
    m.f[1].bounds[0].grade = BOUND_CONVENTION;
    made_window(&m);
    assert_says(made_setting(&m, "hold_time")->because,
                "They cross by more than their intervals, so no further shots will open it.");
    made_free(&m);
}

int main(void)
{
    static const struct CMUnitTest plain[] = {
        cmocka_unit_test(not_quite_crossing),        cmocka_unit_test(pressure_against_knee),
        cmocka_unit_test(cap_agrees_with_viscosity), cmocka_unit_test(hand_made),
        cmocka_unit_test(derived_bound_crosses),     cmocka_unit_test(the_shots_are_named),
    };
    struct CMUnitTest tests[PL_COUNT(gates) + PL_COUNT(plain)];
    for (size_t i = 0; i < PL_COUNT(gates); i++)
        tests[i] = (struct CMUnitTest){gates[i].name, gate_against_knee, NULL, NULL,
                                       (void *)(uintptr_t)&gates[i]};
    for (size_t i = 0; i < PL_COUNT(plain); i++)
        tests[PL_COUNT(gates) + i] = plain[i];
    return _cmocka_run_group_tests("window: crossing bounds", tests, PL_COUNT(tests), NULL, NULL);
}
