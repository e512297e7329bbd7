/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Wrong units, and drift, odd shots and unequal scatter in studies other than gate-freeze: each
 * from files with the trouble, with its place and its figures. */
#include "suspicion_cases.h"

/* The finding of the first file's study, with the others beside it. */
static struct finding run(const struct study_file *files, size_t n, const char *ini)
{
    struct finding f;
    struct error e = {.code = ERR_NONE};
    assert_int_equal(run_study_files(arena, files, n, ini, &f, &e), ERR_NONE);
    return f;
}

#define PSI 14.503773773
#define MELT "[press]\npressure_basis = melt\nintensification_ratio = 10.2\n"
#define MELT_ONLY "[press]\npressure_basis = melt\n"

/* Eight speeds of three shots in mixed order; what one row, one setting or a whole column is
 * multiplied by. */
struct fill {
    long row, setting; /* that are off, or -1 */
    double pressure, time, peak, all_pressure, all_time, trend;
};
static const struct fill right = {-1, -1, 1.0, 1.0, 1.0, 1.0, 1.0, 0.0};

static const char *fill_csv(const struct fill *c)
{
    static const double speed[8] = {60, 20, 140, 10, 90, 30, 180, 14};
    struct sim_stream r = {4};
    struct text t;
    text_init(&t, arena);
    text_add(&t, "injection speed [mm/s],fill time [s],transfer pressure [bar],peak pressure "
                 "[bar]\n");
    for (long i = 0; i < 24; i++) {
        bool off = i == c->row || i / 3 == c->setting;
        double fill = 33.0 / speed[i / 3] * exp(0.002 * sim_normal(&r));
        double p = 900.0 * pow(fill, -0.28) * exp(0.003 * sim_normal(&r));
        p *= 1.0 + c->trend * (double)(i / 3) / 7.0;
        p *= c->all_pressure * (off ? c->pressure : 1.0);
        text_addf(&t, "%.0f,%.4f,%.1f,%.1f\n", speed[i / 3],
                  fill * c->all_time * (off ? c->time : 1.0), p, 1.012 * p * c->peak);
    }
    return t.s;
}

static struct finding fill(const struct fill *c, const char *ini)
{
    return run_study(arena, "viscosity", fill_csv(c), ini);
}

static void assert_units_right(const struct finding *f)
{
    assert_none(f, "psi-for-bar");
    assert_none(f, "hydraulic-or-melt");
    assert_none(f, "minutes-for-seconds");
}

/* ---- wrong units ---------------------------------------------------------------------------- */

static void units_of_rows(void **state)
{
    (void)state;
    struct fill c = right;
    struct finding f = fill(&c, MELT);
    assert_units_right(&f);
    c.row = 7;
    c.all_pressure = 0.2; /* more than 500 MPa is refused by the reader already */
    c.pressure = PSI;
    f = fill(&c, MELT);
    ASSERT_FLAG(&f, "psi-for-bar", "viscosity.csv", 9, "the transfer pressure is", " bar here",
                "a factor of 14.", "psi and bar");
    c.all_pressure = 1.0;
    c.pressure = 1.0 / PSI;
    f = fill(&c, MELT);
    ASSERT_FLAG(&f, "psi-for-bar", "viscosity.csv", 9, "a factor of 14.", "psi and bar");
    c.pressure = 1.0 / 10.2;
    f = fill(&c, MELT);
    ASSERT_FLAG(&f, "hydraulic-or-melt", "viscosity.csv", 9, "a factor of 10.",
                "hydraulic and melt pressure");
    f = fill(&c, MELT_ONLY); /* the ratio is not known: no claim */
    assert_units_right(&f);
    c.pressure = 1.0;
    c.time = 1.0 / 60.0;
    f = fill(&c, MELT);
    ASSERT_FLAG(&f, "minutes-for-seconds", "viscosity.csv", 9, "the fill time is", " s here",
                "a factor of 60.", "minutes and seconds");
    c.time = 5.0; /* wrong, and no unit explains it */
    f = fill(&c, MELT);
    assert_units_right(&f);
}

static void units_of_settings(void **state)
{
    (void)state;
    struct fill c = right;
    c.setting = 5;
    c.all_pressure = 0.2;
    c.pressure = PSI;
    struct finding f = fill(&c, MELT_ONLY);
    ASSERT_FLAG(&f, "psi-for-bar", "viscosity.csv", 17, "at 30 mm/s the transfer pressure is",
                "expect about", "psi and bar");
    c.pressure = 1.0;
    c.time = 1.0 / 60.0;
    f = fill(&c, MELT_ONLY);
    ASSERT_FLAG(&f, "minutes-for-seconds", "viscosity.csv", 17, "at 30 mm/s the fill time is");
    /* the peak of every shot hydraulic, the pressure at transfer melt */
    c = right;
    c.peak = 1.0 / 10.2;
    f = fill(&c, MELT);
    ASSERT_FLAG(&f, "hydraulic-or-melt", "viscosity.csv", 2,
                "the peak pressure is 0.0992 times the transfer pressure");
}

static const char drop_csv[] =
    "stage,peak pressure [bar],injection speed [mm/s],fill time [s]\nnozzle,300,90,0.26\n"
    "nozzle,302,90,0.26\ngate,800,90,0.34\ngate,803,90,0.34\npart,1190,90,0.37\n"
    "part,1195,90,0.37\nnozzle,301,90,0.26\ngate,802,90,0.34\npart,1191,90,0.37\n";

/* A whole file is off: only another file can tell. */
static void units_of_files(void **state)
{
    (void)state;
    struct fill c = right;
    struct study_file files[2] = {{"viscosity", fill_csv(&c)}, {"pressure-drop", drop_csv}};
    struct finding f = run(files, 2, MELT);
    assert_units_right(&f);
    c.all_pressure = 1.0 / PSI;
    files[0].csv = fill_csv(&c);
    f = run(files, 1, MELT);
    assert_units_right(&f);
    f = run(files, 2, MELT_ONLY);
    ASSERT_FLAG(&f, "psi-for-bar", "viscosity.csv", 14, "at 90 mm/s the transfer pressure is",
                "pressure-drop.csv, line 6", "psi and bar");
    c.all_pressure = 1.0 / 10.2;
    files[0].csv = fill_csv(&c);
    f = run(files, 2, MELT);
    ASSERT_FLAG(&f, "hydraulic-or-melt", "viscosity.csv", 14, "at 90 mm/s", "a factor of 1",
                "hydraulic and melt pressure");
    struct study_file turned[2] = {files[1], files[0]}; /* told in the other study too */
    f = run(turned, 2, MELT);
    ASSERT_FLAG(&f, "hydraulic-or-melt", "pressure-drop.csv", 6, "viscosity.csv, line 14");
    c.all_pressure = 1.0;
    c.all_time = 1.0 / 60.0;
    files[0].csv = fill_csv(&c);
    f = run(files, 2, MELT);
    ASSERT_FLAG(&f, "minutes-for-seconds", "viscosity.csv", 14, "the fill time is 0.006",
                "pressure-drop.csv, line 6", "0.37 s");
}

/* What the reader says of a viscosity file; "" when it is read. */
static const char *refusal(const char *csv, const char *ini)
{
    const struct study *s = study_find("viscosity");
    struct study_input input = {s->name, s->columns, s->n_columns};
    struct read_request request = {&input, 1, NULL, 0};
    struct facts facts;
    struct table table;
    struct diag_list diags;
    struct error e = {.code = ERR_NONE};
    diag_init(&diags, arena);
    assert_int_equal(
        facts_load_bytes(arena, "trial.ini", ini, strlen(ini), &request, &facts, &diags, &e),
        ERR_NONE);
    assert_int_equal(table_load_bytes(arena, "viscosity.csv", csv, strlen(csv), &input, &facts,
                                      &table, &diags, &e),
                     ERR_NONE);
    for (size_t i = 0; i < diags.n; i++)
        if (diags.items[i].severity == DIAG_ERROR && strstr(diags.items[i].remedy, "psi") != NULL)
            return diags.items[i].remedy;
    return diags.errors > 0 ? "refused" : "";
}

/* A whole column of psi under bar, with nothing else in the trial: the press's limit tells, or
 * nothing does. 33 mm / speed gives fills of 0.18 to 3.3 s, 640 to 1450 bar. */
static void units_against_the_press(void **state)
{
    (void)state;
    struct fill c = right;
    assert_string_equal(refusal(fill_csv(&c), MELT_ONLY "max_injection_pressure = 2200 bar\n"), "");
    c.all_pressure = PSI;
    const char *said = refusal(fill_csv(&c), MELT_ONLY "max_injection_pressure = 2200 bar\n");
    if (strstr(said, "In psi it would be ") == NULL || strstr(said, "psi under bar") == NULL)
        fail_msg("\"%s\" does not name psi", said);
    /* hydraulic, on a press of 200 bar: 60 to 140 bar typed as 900 to 2100 */
    c.all_pressure = PSI / 10.2;
    said = refusal(fill_csv(&c), "[press]\npressure_basis = hydraulic\nintensification_ratio = 10.2"
                                 "\nmax_injection_pressure = 200 bar\n");
    if (strstr(said, "psi under bar") == NULL)
        fail_msg("\"%s\" does not name psi", said);
    /* the press's limit is not known, or the pressure is off by another factor: no claim */
    c.all_pressure = 0.2 * PSI;
    assert_string_equal(refusal(fill_csv(&c), MELT_ONLY), "");
    c.all_pressure = 2.0;
    assert_string_equal(refusal(fill_csv(&c), MELT_ONLY "max_injection_pressure = 1000 bar\n"),
                        "refused");
    /* bar under psi, or psi under bar on so low a level that the press could make it: nothing can
     * tell, and nothing is said */
    c.all_pressure = 1.0 / PSI;
    struct finding f = fill(&c, MELT_ONLY "max_injection_pressure = 2200 bar\n");
    assert_units_right(&f);
    c.all_pressure = 0.1 * PSI;
    f = fill(&c, MELT_ONLY "max_injection_pressure = 2200 bar\n");
    assert_units_right(&f);
}

static double greatest(const struct finding *f)
{
    double v = -INFINITY;
    for (size_t i = 0; i < f->n_bounds; i++)
        v = fmax(v, f->bounds[i].value);
    return v;
}

/* Weights in kilograms beside a part weight in grams, hold times longer than the whole cycle: as it
 * is written it cannot be, and nothing is bounded. */
static void impossible_units_stop(void **state)
{
    (void)state;
    struct freeze s = mixed;
    const char *csv = freeze_csv(&s, 1); /* parts of about 21.5 g; held for 2 to 9 s */
    static const struct {
        const char *ini, *code;
    } cases[] = {
        {"[mold]\npart_weight = 21.4 g\n", NULL},
        {"[mold]\npart_weight = 16 g\n", NULL},                /* rounded, another lot */
        {"[mold]\ncavities = 4\npart_weight = 5.4 g\n", NULL}, /* four parts together */
        {"[mold]\npart_weight = 5.4 g\n", NULL},               /* nobody knows how many */
        {"[mold]\ncavities = 4\npart_weight = 86 g\n", NULL},  /* of the whole shot */
        {"[mold]\ncavities = 4\npart_weight = 1.8 g\n", "weight-off"},
        {"[mold]\npart_weight = 0.0214 g\n", "unit-impossible"},
        {"[mold]\npart_weight = 21.4 kg\n", "unit-impossible"},
        {"[mold]\npart_weight = 21.4 oz\n", "unit-impossible"},
        {"[running]\ncycle_time = 28 s\n", NULL},
        {"[running]\ncycle_time = 0.5 s\n", "unit-impossible"},
    };
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        struct finding f = run_study(arena, "gate-freeze", csv, cases[i].ini);
        bool stops = cases[i].code != NULL && strcmp(cases[i].code, "unit-impossible") == 0;
        for (size_t k = 0; k < f.n_flags; k++)
            if ((strcmp(f.flags[k].code, "unit-impossible") == 0 ||
                 strcmp(f.flags[k].code, "weight-off") == 0) &&
                (cases[i].code == NULL || strcmp(cases[i].code, f.flags[k].code) != 0))
                fail_msg("%s: %s", cases[i].ini, f.flags[k].text);
        if (cases[i].code != NULL)
            assert_non_null(find(&f, cases[i].code));
        assert_int_equal(f.n_bounds == 0, stops);
        assert_int_equal(f.verdict, stops ? VERDICT_NOT_SHOWN : VERDICT_MET);
        if (!stops)
            assert_true(greatest(&f) > 2.0);
        else
            assert_non_null(strstr(f.decision, "A unit is wrong"));
        /* a thousand times too much, never too little, is also what a lost decimal mark leaves */
        bool lost = strstr(cases[i].ini, "0.0214 g") != NULL;
        if (stops)
            assert_int_equal(strstr(f.decision, "took the decimal mark for a mark between") != NULL,
                             lost);
    }
}

static void units_against_trial_ini(void **state)
{
    (void)state;
    struct freeze s = mixed;
    const char *csv = freeze_csv(&s, 1);
    struct finding f = run_study(arena, "gate-freeze", csv, "[running]\nhold_time = 12 s\n");
    assert_units_right(&f);
    f = run_study(arena, "gate-freeze", csv, "[running]\nhold_time = 0.12 s\n");
    ASSERT_FLAG(&f, "minutes-for-seconds", "gate-freeze.csv", 2, "at 2 s to 9 s",
                "0.12 s ([running] hold_time)");
    f = run_study(arena, "gate-freeze", csv, "[running]\ncycle_time = 0.7 s\n");
    ASSERT_FLAG(&f, "minutes-for-seconds", "gate-freeze.csv", 2, "the shortest hold time is 2 s",
                "0.7 s");
    f = run_study(arena, "gate-freeze",
                  "hold time [s],weight [g],hold pressure [bar]\n2,20.3,55\n2,20.4,55\n4,21.4,55\n"
                  "3,21.1,55\n6,21.5,55\n",
                  MELT "[running]\nhold_pressure = 561 bar\n");
    ASSERT_FLAG(&f, "hydraulic-or-melt", "gate-freeze.csv", 2,
                "the hold pressure was run at 5.5 MPa, and", "56.1 MPa ([running] hold_pressure)");
    struct fill c = right;
    c.all_pressure = 0.1;
    f = fill(&c, "[press]\npressure_basis = hydraulic\nintensification_ratio = 10.2\n"
                 "max_injection_pressure = 2200 bar\n");
    ASSERT_FLAG(&f, "hydraulic-or-melt", "trial.ini", 4, "2244 MPa");
}

/* No factor between units, and yet it cannot be. */
static void a_peak_below_transfer(void **state)
{
    (void)state;
    struct fill c = right;
    struct finding f = fill(&c, MELT);
    assert_none(&f, "peak-below-transfer");
    c.peak = 0.95;
    f = fill(&c, MELT);
    ASSERT_FLAG(&f, "peak-below-transfer", "viscosity.csv", 2, "the peak pressure is ",
                "the pressure at transfer ", "in 24 rows");
    assert_units_right(&f);
    c.peak = 0.985; /* 1.2 % above and 1.5 % below: within two readings of one pressure */
    f = fill(&c, MELT);
    assert_none(&f, "peak-below-transfer");
}

/* ---- shots, drift and scatter ---------------------------------------------------------------- */

static void fills_that_drift(void **state)
{
    (void)state;
    struct fill c = right;
    struct finding f = fill(&c, MELT);
    assert_none(&f, "drift");
    c.trend = 0.08;
    f = fill(&c, MELT);
    ASSERT_FLAG(&f, "drift", "viscosity.csv", 23, "the pressure at equal fill time rises by ",
                " % from the first condition");
    c = right;
    c.row = 10;
    c.pressure = 1.06;
    f = fill(&c, MELT);
    ASSERT_FLAG(&f, "outlier", "viscosity.csv", 12, "the shot at 10 mm/s lies ",
                " % above the others", "in pressure");
    assert_none(&f, "spread-differs");
}

static void rounds_that_drift(void **state)
{
    (void)state;
    struct sim_stream r = {11};
    struct text t;
    text_init(&t, arena);
    text_add(&t, "stage,peak pressure [bar],injection speed [mm/s]\n");
    for (int round = 0; round < 4; round++)
        for (int i = 0; i < 4; i++)
            for (int k = 0; k < 3; k++)
                text_addf(&t, "s%d,%.1f,90\n", i,
                          300.0 * (i + 1) * (1.0 + 0.008 * round + 0.005 * sim_normal(&r)));
    struct finding f = run_study(arena, "pressure-drop", t.s, MELT);
    ASSERT_FLAG(&f, "drift", "pressure-drop.csv", 47, "the peak pressure rises by ", " bar",
                "at equal settings");
}

static void a_cavity_that_scatters(void **state)
{
    (void)state;
    struct sim_stream r = {5};
    struct text t;
    text_init(&t, arena);
    text_add(&t, "weight c1 [g],weight c2 [g],weight c3 [g],weight c4 [g]\n");
    for (int k = 0; k < 10; k++) {
        for (int j = 0; j < 4; j++)
            text_addf(&t, "%s%.3f", j > 0 ? "," : "",
                      20.0 + (j == 2 ? 0.08 : 0.01) * sim_normal(&r));
        text_add_char(&t, '\n');
    }
    struct finding f = run_study(arena, "cavity-balance", t.s, "");
    ASSERT_FLAG(&f, "spread-differs", "cavity-balance.csv", 2, "at cavity 3", " g (sd of ");
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
    const struct CMUnitTest tests[] = {
        TEST(units_of_rows),           TEST(units_of_settings),     TEST(units_of_files),
        TEST(units_against_the_press), TEST(a_peak_below_transfer), TEST(impossible_units_stop),
        TEST(units_against_the_press), TEST(a_peak_below_transfer), TEST(units_against_trial_ini),
        TEST(fills_that_drift),        TEST(rounds_that_drift),     TEST(a_cavity_that_scatters),
    };
    return cmocka_run_group_tests_name("suspicion-units", tests, NULL, NULL);
}
