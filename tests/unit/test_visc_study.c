/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The viscosity study from file to finding. */
#include <math.h>
#include <string.h>

#include "near.h"
#include "plateau/study.h"

extern const struct study study_viscosity;

static struct study_input input(void)
{
    return (struct study_input){study_viscosity.name, study_viscosity.columns,
                                study_viscosity.n_columns};
}

/* Reads both, analyzes; fails the test on any diagnostic that is an error. */
static void analyze(struct arena *a, const char *csv, const char *ini, struct finding *f)
{
    struct study_input in = input();
    struct read_request q = {&in, 1, study_viscosity.criteria, study_viscosity.n_criteria};
    struct trial *trial = ARENA_NEW(a, struct trial);
    struct table *table = ARENA_NEW(a, struct table);
    struct diag_list diags;
    struct error e = {0};
    diag_init(&diags, a);
    assert_int_equal(
        facts_load_bytes(a, "trial.ini", ini, strlen(ini), &q, &trial->facts, &diags, &e),
        ERR_NONE);
    assert_int_equal(table_load_bytes(a, "viscosity.csv", csv, strlen(csv), &in, &trial->facts,
                                      table, &diags, &e),
                     ERR_NONE);
    for (size_t i = 0; i < diags.n; i++)
        if (diags.items[i].severity == DIAG_ERROR)
            fail_msg("%s: %s", diags.items[i].code, diags.items[i].message);
    finding_init(f, a, "viscosity", "Viscosity");
    assert_int_equal(study_run(&study_viscosity, trial, table, f, &e), ERR_NONE);
}

static const struct flag *flag_of(const struct finding *f, const char *code)
{
    for (size_t i = 0; i < f->n_flags; i++)
        if (strcmp(f->flags[i].code, code) == 0)
            return &f->flags[i];
    return NULL;
}

static const struct bound *bound_of(const struct finding *f, const char *setting,
                                    enum bound_side side, const char *model)
{
    for (size_t i = 0; i < f->n_bounds; i++)
        if (strcmp(f->bounds[i].setting, setting) == 0 && f->bounds[i].side == side &&
            (model == NULL || strcmp(f->bounds[i].model, model) == 0))
            return &f->bounds[i];
    return NULL;
}

/* ---- the exact power law: n = 0.30, 9000 psi s^0.3
 * ---------------------------------------------------
 */

static const double fills[10] = {5, 3.2, 2.2, 1.6, 1.2, 0.9, 0.7, 0.55, 0.45, 0.38};

static const char *exact_csv(struct arena *a)
{
    struct text t;
    text_init(&t, a);
    text_add(&t, "condition,fill_time [s],melt_pressure [psi]\n");
    for (int i = 0; i < 10; i++)
        for (int j = 0; j < 2; j++)
            /* a 1 at the end: the timer shows every digit */
            text_addf(&t, "%c,%.12f1,%.10f\n", 'a' + i, fills[i], 9000.0 * pow(fills[i], -0.3));
    return t.s;
}

static void exact_power_law(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    analyze(a, exact_csv(a), "", &f);
    assert_lre(finding_get(&f, "power_law_index")->value, 0.3, 9);
    assert_string_equal(f.models[0].name, "power law");
    assert_true(f.models[0].chosen);
    assert_lre(f.models[0].value[0], 9000.0 * 0.00689475729316836, 9); /* MPa s^0.3 */
    const struct quantity *knee = finding_get(&f, "knee_sensitivity");
    assert_near(knee->value, 2.105, 0, 5e-4);
    assert_near(1.0 / finding_get(&f, "knee_chord")->value, 0.7835, 0, 5e-5);
    assert_lre(1.0 / finding_get(&f, "knee_broken_stick")->value, 0.53283679, 6);
    assert_int_equal(flag_of(&f, "knee-follows-range")->grade, FLAG_NOTE);
    assert_int_equal(f.n_bounds, 1); /* no limit known or met on the fast side: open */
    const struct bound *b = &f.bounds[0];
    assert_string_equal(b->setting, "fill_time");
    assert_int_equal(b->side, BOUND_UPPER);
    assert_int_equal(b->grade, BOUND_CONVENTION);
    assert_int_equal(b->verdict, VERDICT_MET);
    assert_near(b->value, 2.105, 0, 5e-4);
    assert_string_equal(b->criterion, "viscosity_tolerance");
    assert_int_equal(f.verdict, VERDICT_MET);
    assert_int_equal(f.rows_used, 20);
    assert_string_equal(f.tables[0].columns[0].title, "fill time"); /* no speed was told */
    /* 1 - 1.1^-0.7 = 6.45 % */
    assert_non_null(strstr(f.decision, "Filling 10 % faster lowers viscosity by 6.5 %"));
    assert_int_equal(f.n_figures, 2);
    assert_string_equal(f.figures[0].beside, f.figures[1].name);
    arena_free(a);
}

/* ---- a press with a speed column: t = 0.05 + 60 / v exactly
 * -------------------------------------------
 */

static const int speeds[] = {12, 20, 33, 55, 90, 150, 240};

static const char *speed_csv(struct arena *a, const char *const *defect)
{
    /* pressures within a condition differ by a fixed 0.4 % */
    struct text t;
    text_init(&t, a);
    text_add(&t, "shot,injection speed [mm/s],fill time [s],transfer pressure melt [MPa],defect\n");
    int shot = 1;
    for (size_t i = 0; i < PL_COUNT(speeds); i++)
        for (int j = -1; j <= 1; j++, shot++) {
            double time = 0.05 + 60.0 / speeds[i];
            text_addf(&t, "%d,%d,%.4f,%.3f,%s\n", shot, speeds[i], time,
                      40.0 * pow(time, -0.35) * (1.0 + 0.004 * j),
                      defect != NULL && defect[i] != NULL && j == 0 ? defect[i] : "");
        }
    return t.s;
}

static void speed_follows_fill_time(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    analyze(a, speed_csv(a, NULL), "", &f);
    const struct bound *slow = bound_of(&f, "fill_time", BOUND_UPPER, NULL);
    const struct bound *speed = bound_of(&f, "injection_speed", BOUND_LOWER, NULL);
    assert_non_null(slow);
    assert_lre(speed->value, 60.0 / (slow->value - 0.05), 4);
    assert_lre(speed->low, 60.0 / (slow->high - 0.05), 4);
    assert_true(speed->low < speed->value && speed->grade == slow->grade);
    assert_null(bound_of(&f, "injection_speed", BOUND_UPPER, NULL));
    assert_int_equal(f.conditions[0].setting_dimension, DIM_SPEED);
    const struct data_table *t = &f.tables[0]; /* a condition is found by the speed it was set to */
    assert_string_equal(t->columns[0].title, "injection speed");
    assert_string_equal(t->columns[1].title, "fill time");
    assert_lre(t->values[0], 60.0 / (t->values[1] - 0.05), 4);
    arena_free(a);
}

/* Flash at 240 mm/s and a short shot at 12: good from 20 to 150. */
static void defects_end_the_range(void **state)
{
    (void)state;
    static const char *const defect[PL_COUNT(speeds)] = {"short", NULL, NULL,   NULL,
                                                         NULL,    NULL, "flash"};
    struct arena *a = arena_new();
    struct finding f;
    analyze(a, speed_csv(a, defect), "", &f);
    const struct bound *fast = bound_of(&f, "injection_speed", BOUND_UPPER, "tested conditions");
    const struct bound *slow = bound_of(&f, "injection_speed", BOUND_LOWER, "tested conditions");
    assert_lre(fast->value, 150.0, 3); /* fill times in the file have four decimals */
    assert_lre(fast->high, 240.0, 3);
    assert_lre(slow->value, 20.0, 3);
    assert_lre(slow->low, 12.0, 3);
    assert_int_equal(fast->grade, BOUND_LIMIT);
    assert_int_equal(fast->verdict, VERDICT_NOT_SHOWN); /* nobody has challenged the edge */
    assert_non_null(strstr(fast->because, "\"flash\""));
    assert_int_equal(f.next_shots[0].at > 150.0 && f.next_shots[0].at < 240.0, true);
    arena_free(a);
}

static const struct criterion *defect_criterion(const struct finding *f)
{
    for (size_t i = 0; i < f->n_criteria; i++)
        if (strcmp(f->criteria[i].name, "defect_free_share") == 0)
            return &f->criteria[i];
    return NULL;
}

/* Flash at 240 mm/s: 59 good shots in a row at 150 show 95 % at 95 % (0.95^59 = 0.0485, 0.95^58 =
 * 0.0510). */
static void a_run_of_good_parts_shows_the_edge(void **state)
{
    (void)state;
    static const char *const defect[PL_COUNT(speeds)] = {NULL, NULL, NULL,   NULL,
                                                         NULL, NULL, "flash"};
    for (int shots = 58; shots <= 59; shots++) {
        struct arena *a = arena_new();
        struct finding f;
        struct text t;
        text_init(&t, a);
        text_add(&t, speed_csv(a, defect));
        for (int i = 3; i < shots; i++)
            text_addf(&t, "%d,150,0.4500,%.3f,ok\n", 100 + i,
                      40.0 * pow(0.45, -0.35) * (1.0 + 0.001 * (i % 7 - 3)));
        analyze(a, t.s, "", &f);
        enum verdict want = shots == 59 ? VERDICT_MET : VERDICT_NOT_SHOWN;
        assert_int_equal(defect_criterion(&f)->verdict, want);
        assert_int_equal(bound_of(&f, "injection_speed", BOUND_UPPER, "tested conditions")->verdict,
                         want);
        if (shots == 58) {
            assert_non_null(strstr(defect_criterion(&f)->because, "run 1 more shots"));
            assert_int_equal(f.next_shots[1].shots, 1);
            assert_lre(f.next_shots[1].at, 150.0, 9);
            assert_non_null(strstr(f.next_shots[0].why, "Caution: 240 mm/s shows \"flash\""));
        }
        arena_free(a);
    }
}

/* Shots that were proposed beyond a run do not undo it: 3 good ones at 190 mm/s, and 59 at 150. */
static void shots_beyond_a_run_do_not_undo_it(void **state)
{
    (void)state;
    static const char *const defect[PL_COUNT(speeds)] = {NULL, NULL, NULL,   NULL,
                                                         NULL, NULL, "flash"};
    struct arena *a = arena_new();
    struct finding f;
    struct text t;
    text_init(&t, a);
    text_add(&t, speed_csv(a, defect));
    for (int i = 3; i < 59; i++)
        text_addf(&t, "%d,150,0.4500,%.3f,ok\n", 100 + i,
                  40.0 * pow(0.45, -0.35) * (1.0 + 0.001 * (i % 7 - 3)));
    double time = 0.05 + 60.0 / 190.0;
    for (int j = -1; j <= 1; j++)
        text_addf(&t, "%d,190,%.4f,%.3f,ok\n", 201 + j, time,
                  40.0 * pow(time, -0.35) * (1.0 + 0.004 * j));
    analyze(a, t.s, "", &f);
    const struct bound *fast = bound_of(&f, "injection_speed", BOUND_UPPER, "tested conditions");
    assert_int_equal(defect_criterion(&f)->verdict, VERDICT_MET);
    assert_int_equal(fast->verdict, VERDICT_MET);
    assert_lre(fast->value, 150.0, 3);
    assert_lre(fast->high, 240.0, 3);
    assert_lre(bound_of(&f, "fill_time", BOUND_LOWER, "tested conditions")->value, 0.45, 3);
    assert_non_null(strstr(fast->because, "a run of 59 shots was good here"));
    arena_free(a);
}

/* One speed: no limit of the press is to blame, and other speeds are named; without a row, nothing
 * is said of shots that do not exist. */
static void one_speed_is_named(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    analyze(a,
            "injection speed [mm/s],fill time [s],transfer pressure melt [MPa]\n60,1.05,40.1\n"
            "60,1.06,40.2\n60,1.05,40.0\n",
            "", &f);
    assert_non_null(strstr(f.decision, "only one injection speed was run"));
    assert_non_null(strstr(flag_of(&f, "too-little-data")->text, "only one injection speed"));
    assert_null(strstr(f.criteria[0].because, "limits"));
    assert_int_equal(f.criteria[0].shots_to_decide, 0); /* the sentence says what would */
    bool slower = false;
    for (size_t i = 0; i < f.n_next_shots; i++) {
        slower = slower || f.next_shots[i].at < 60.0;
        if (f.next_shots[i].at > 60.0)
            assert_non_null(strstr(f.next_shots[i].why, "stop at the first flash"));
    }
    assert_true(slower);
    analyze(a, "injection speed [mm/s],fill time [s],transfer pressure melt [MPa]\n60,,\n30,,\n",
            "", &f);
    assert_null(flag_of(&f, "no-repeats"));
    assert_non_null(strstr(f.decision, "none of the 2 rows can be used: no reading of fill_time"));
    analyze(a,
            "injection speed [mm/s],fill time [s],transfer pressure melt [MPa]\n"
            "60,,80\n30,,70\n10,3.1,\n",
            "", &f);
    assert_non_null(strstr(f.decision, "none of the 3 rows can be used; of 2 of them: no "));
    arena_free(a);
}

/* The gate's rate allows 1.35 s at most: flash at 0.3 s lies three good settings beyond. */
static void a_defect_far_beyond_the_bound(void **state)
{
    (void)state;
    static const char *const defect[PL_COUNT(speeds)] = {NULL, NULL, NULL,   NULL,
                                                         NULL, NULL, "flash"};
    struct arena *a = arena_new();
    struct finding f;
    analyze(a, speed_csv(a, defect),
            "[mold]\npart_volume = 18.4 cm3\ngate_width = 4 mm\ngate_thickness = 1 mm\n"
            "[material]\nmax_shear_rate = 20000 1/s\n",
            &f);
    assert_int_equal(defect_criterion(&f)->verdict, VERDICT_MET);
    assert_int_equal(bound_of(&f, "injection_speed", BOUND_UPPER, "tested conditions")->verdict,
                     VERDICT_MET);
    analyze(a, speed_csv(a, NULL), "", &f);
    assert_null(defect_criterion(&f));
    arena_free(a);
}

/* Pressure is judged where filling is slowest inside the limits, not beyond them. */
static void pressure_at_the_slowest_fill_allowed(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    analyze(a, speed_csv(a, NULL),
            "[press]\npressure_basis = melt\nmax_injection_pressure = 100 MPa\n", &f);
    const struct bound *slow = bound_of(&f, "fill_time", BOUND_UPPER, NULL);
    assert_string_equal(f.criteria[1].name, "pressure_use_max");
    assert_near(f.criteria[1].value, 0.4 * pow(slow->value, -0.35), 1e-3, 0);
    assert_string_equal(f.criteria[1].title, "pressure use at the slowest fill allowed");
    arena_free(a);
}

/* 40 t^-0.35 MPa reaches 90 % of 100 MPa at t = (40/90)^(1/0.35) = 0.0986 s, faster than the
 * fastest fill, 0.3 s: the bound stays there. 90 % of 63 MPa: (40/56.7)^(1/0.35) = 0.36905 s. */
static void pressure_use(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    const char *csv = speed_csv(a, NULL);
    analyze(a, csv, "[press]\npressure_basis = melt\nmax_injection_pressure = 100 MPa\n", &f);
    const struct bound *b = bound_of(&f, "fill_time", BOUND_LOWER, "power law");
    assert_lre(b->value, 0.3, 9);
    assert_int_equal(b->grade, BOUND_CONVENTION);
    assert_non_null(flag_of(&f, "range-ends-here"));
    assert_non_null(strstr(flag_of(&f, "range-ends-here")->text, "fill time of 0.10"));

    analyze(a, csv, "[press]\npressure_basis = melt\nmax_injection_pressure = 63 MPa\n", &f);
    b = bound_of(&f, "fill_time", BOUND_LOWER, "power law");
    assert_near(b->value, 0.36905, 0.02, 0);
    assert_true(b->value > 0.36905 && b->low < 0.36905 && b->value == b->high); /* safe end */
    assert_null(flag_of(&f, "range-ends-here"));
    assert_string_equal(b->criterion, "pressure_use_max");

    /* as hydraulic pressure with ratio 10: 6.3 MPa make 63 */
    analyze(a, csv,
            "[press]\npressure_basis = hydraulic\nintensification_ratio = 10\n"
            "max_injection_pressure = 20 MPa\npressure_limit = 6.3 MPa\n",
            &f);
    assert_lre(bound_of(&f, "fill_time", BOUND_LOWER, "power law")->value, b->value, 9);
    arena_free(a);
}

static void too_little_pressure(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    /* the slowest fill, 5.05 s, takes 22.7 MPa: 94.5 % of 24 MPa. Everything faster is at the
     * limit. */
    analyze(a, speed_csv(a, NULL),
            "[criteria]\npressure_use_max = 20 %\n[press]\npressure_basis = "
            "melt\nmax_injection_pressure = 90 MPa\n",
            &f);
    assert_null(bound_of(&f, "fill_time", BOUND_LOWER, "power law"));
    assert_string_equal(f.criteria[1].name, "pressure_use_max");
    assert_int_equal(f.criteria[1].verdict, VERDICT_NOT_MET);
    assert_int_equal(f.criteria[1].origin, 'G');
    assert_int_equal(f.verdict, VERDICT_NOT_MET);
    arena_free(a);
}

/* 0.98 x 18400 mm3 through a round gate of 2.4 mm: 4 Q / (pi r^3) = 4 x 18032 / (pi x 1.728) / t =
 * 13286.4 / t; 20000 1/s at t = 0.66432 s. Flat, 4 x 1 mm: 6 Q / (w h^2) = 27048 / t: 1.3524 s. */
static void gate_rate(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    const char *csv = speed_csv(a, NULL);
    analyze(a, csv,
            "[mold]\npart_volume = 18.4 cm3\ngate_diameter = 2.4 mm\n[material]\n"
            "max_shear_rate = 20000 1/s\n",
            &f);
    const struct bound *b =
        bound_of(&f, "fill_time", BOUND_LOWER, "apparent wall shear rate at the gate");
    assert_near(b->value, 0.66432, 1e-4, 0);
    assert_int_equal(b->grade, BOUND_LIMIT);
    assert_null(flag_of(&f, "slit-approximate"));
    analyze(a, csv,
            "[mold]\npart_volume = 18.4 cm3\ngate_width = 4 mm\ngate_thickness = 1 mm\n"
            "[material]\nmax_shear_rate = 20000 1/s\n",
            &f);
    b = bound_of(&f, "fill_time", BOUND_LOWER, "apparent wall shear rate at the gate");
    assert_near(b->value, 1.3524, 1e-9, 0);
    assert_int_equal(flag_of(&f, "slit-approximate")->grade, FLAG_NOTE);
    arena_free(a);
}

/* ---- the press did not do what it was told
 * --------------------------------------------------------------
 */

/* The measured fills of tests/reference/test_viscosity.c, a few shots of each, on their means. */
static void limited_batch_is_left_out(void **state)
{
    (void)state;
    static const char csv[] = "condition,fill_time [s],melt_pressure [bar]\n"
                              "fast,0.1020,525.4\nfast,0.1020,550.4\nfast,0.1020,537.9\n"
                              "slow,0.2000,438.9\nslow,0.2000,446.7\nslow,0.2000,442.8\n"
                              "cut,0.1695,384.65\ncut,0.1777,382.55\ncut,0.1736,383.6\n";
    struct arena *a = arena_new();
    struct finding f;
    analyze(a, csv, "", &f);
    const struct flag *g = flag_of(&f, "pressure-limited");
    assert_non_null(g);
    assert_int_equal(g->line, 8);
    assert_non_null(strstr(g->text, "below the line of the other conditions"));
    assert_near(finding_get(&f, "power_law_index")->value, 0.289, 0, 0.001);
    assert_int_equal(f.rows_used, 6);
    assert_int_equal(f.n_left_out, 3);
    assert_non_null(f.conditions[2].left_out);
    assert_null(f.conditions[0].left_out);
    assert_true(isnan(finding_get(&f, "power_law_index")->low)); /* two settings */
    assert_int_equal(f.verdict, VERDICT_NOT_SHOWN);
    assert_non_null(flag_of(&f, "few-conditions"));
    arena_free(a);
}

static void at_the_limit_of_the_press(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    /* the fastest takes 40 x 0.3^-0.35 = 60.96 MPa: within 2 % of 62 MPa */
    analyze(a, speed_csv(a, NULL),
            "[press]\npressure_basis = melt\nmax_injection_pressure = 62 MPa\n", &f);
    assert_non_null(flag_of(&f, "pressure-limited"));
    const struct bound *b = bound_of(&f, "injection_speed", BOUND_UPPER, "tested conditions");
    assert_lre(b->value, 150.0, 3);
    assert_int_equal(b->verdict, VERDICT_MET);
    arena_free(a);
}

static void nothing_usable(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    analyze(a, "fill_time [s],melt_pressure [bar]\n1.00,500\n1.01,501\n", "", &f);
    assert_int_equal(f.verdict, VERDICT_NOT_SHOWN);
    assert_non_null(flag_of(&f, "too-little-data"));
    assert_non_null(flag_of(&f, "conditions-inferred"));
    assert_int_equal(f.n_bounds, 0);
    assert_non_null(f.decision);
    arena_free(a);
}

/* ---- conditions, exclusions, flags of the design
 * ---------------------------------------------------- */

static void conditions_are_inferred(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    analyze(a,
            "fill_time [s],melt_pressure [bar]\n4.00,200\n4.04,201\n2.00,260\n2.02,261\n1.0,340\n"
            "1.01,341\n0.50,440\n0.5,439\n4.02,203\n",
            "", &f);
    assert_int_equal(f.n_conditions, 10); /* five of pressure, five of fill time */
    assert_int_equal(f.conditions[0].n, 2);
    assert_int_equal(f.conditions[4].n, 1); /* the first setting again */
    assert_string_equal(f.conditions[0].series, "transfer pressure");
    assert_string_equal(f.conditions[5].series, "fill time");
    assert_int_equal(f.conditions[5].dimension, DIM_TIME);
    assert_lre(f.conditions[5].mean, sqrt(4.00 * 4.04), 9); /* mean of the logarithms */
    assert_int_equal(flag_of(&f, "conditions-inferred")->grade, FLAG_NOTE);
    assert_non_null(flag_of(&f, "narrow-range"));
    arena_free(a);
}

static void excluded_shots_stay_visible(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    analyze(
        a,
        "condition,fill_time [s],melt_pressure [bar],exclude\na,4.0,200,\na,4.0,201,\nb,2.0,260,\n"
        "b,2.0,261,\nb,2.0,400,nozzle was cold\nc,1.0,340,\nc,1.0,341,\nd,0.4,470,\nd,0.4,471,\n",
        "", &f);
    assert_int_equal(f.rows_used, 8);
    assert_int_equal(f.n_left_out, 1);
    assert_string_equal(f.left_out[0].reason, "nozzle was cold");
    assert_true(f.left_out[0].by_user);
    assert_non_null(strstr(f.with_excluded, "With the excluded shot (line 6) the answer is"));
    arena_free(a);
}

static void flags_of_the_design(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    analyze(a,
            "condition,fill_time [s],melt_pressure [bar],melt_temperature [degC]\na,4.0,200,220\n"
            "b,2.0,260,221\nc,1.0,340,224\nd,0.4,470,225\n",
            "", &f);
    assert_non_null(flag_of(&f, "coarse-timer")); /* 0.1 s of 0.4 s */
    assert_non_null(flag_of(&f, "no-repeats"));
    assert_non_null(flag_of(&f, "melt-temperature-varied"));
    assert_int_equal(f.n_operating_point, 2);
    assert_string_equal(f.operating_point[0].setting, "melt_temperature");
    assert_near(f.operating_point[0].low, 220.0, 0, 0);
    assert_near(f.operating_point[0].high, 225.0, 0, 0);
    assert_string_equal(f.operating_point[1].setting, "fill_time");
    assert_near(f.operating_point[1].low, 0.4, 1e-12, 0);
    assert_near(f.operating_point[1].high, 4.0, 1e-12, 0);
    /* the first setting again, 5 % higher, with shots that repeat to 0.2 % */
    analyze(a,
            "condition,fill_time [s],melt_pressure "
            "[bar]\na,4.00,200,\na,4.00,200.4\nb,2.00,260\nb,2.00,"
            "260.5\nc,1.00,340\nc,1.00,340.7\nd,0.40,470\nd,0.40,471\na,4.00,210\na,4.00,210.4\n",
            "", &f);
    assert_non_null(flag_of(&f, "drift"));
    assert_int_equal(flag_of(&f, "drift")->line, 10);
    arena_free(a);
}

/* A constant pressure makes P t = P / (1 / t), a hyperbola with a "knee": nothing is taken from it.
 */
static void constant_pressure_is_no_melt(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    analyze(
        a,
        "injection_speed [mm/s],fill_time [s],melt_pressure [bar]\n10,4.00,100.0\n20,2.00,100.1\n"
        "30,1.33,99.9\n40,1.00,100.0\n50,0.80,100.1\n60,0.66,99.9\n",
        "", &f);
    assert_int_equal(flag_of(&f, "pressure-not-rising")->grade, FLAG_DOUBT);
    assert_null(flag_of(&f, "knee-follows-range"));
    assert_int_equal(f.n_bounds, 0);
    assert_int_equal(f.verdict, VERDICT_NOT_SHOWN);
    assert_non_null(strstr(f.decision, "not shown to rise with speed"));
    /* pressure in proportion to speed: no melt falls so little */
    analyze(a,
            "injection_speed [mm/s],fill_time [s],melt_pressure [bar]\n10,4.00,100.0\n20,2.00,201\n"
            "30,1.33,303\n40,1.00,405\n50,0.80,506\n60,0.66,610\n",
            "", &f);
    assert_non_null(flag_of(&f, "viscosity-not-falling"));
    assert_null(bound_of(&f, "fill_time", BOUND_UPPER, "power law"));
    arena_free(a);
}

/* Few speeds that are held against an approved record give no knee, and nobody is sent beyond them;
 * seven speeds are a study. One speed alone is still a reading. */
static void short_trial_makes_no_knee(void **state)
{
    (void)state;
    static const double run_at[7] = {59, 32, 150, 22, 100, 46, 80};
    const char *ini = "[approved]\nrecord = old.json\n";
    struct arena *a = arena_new();
    for (int n = 1; n <= 7; n += n < 3 ? 2 : 4) {
        struct text t;
        struct finding f;
        text_init(&t, a);
        text_add(&t, "injection_speed [mm/s],fill_time [s],melt_pressure [bar]\n");
        for (int i = 0; i < n; i++)
            for (int j = 0; j < 2; j++) {
                double fill = 0.05 + 60.0 / run_at[i];
                text_addf(&t, "%.0f,%.3f,%.1f\n", run_at[i], fill,
                          650.0 * pow(fill, -0.3) * (1.0 + 0.001 * (j - 0.5)));
            }
        analyze(a, t.s, ini, &f);
        assert_int_equal(bound_of(&f, "injection_speed", BOUND_LOWER, NULL) != NULL, n == 7);
        if (n < 7) {
            assert_null(flag_of(&f, "few-conditions"));
            assert_null(flag_of(&f, "knee-follows-range"));
            assert_int_equal(f.n_next_shots, 0);
            assert_int_equal(f.n_criteria, 0);
            assert_null(f.conditions[0].left_out);
            assert_non_null(strstr(f.decision, "held against the approved record"));
        }
        if (n == 3) {
            analyze(a, t.s, "", &f);
            assert_non_null(flag_of(&f, "few-conditions"));
            assert_non_null(bound_of(&f, "injection_speed", BOUND_LOWER, NULL));
        }
    }
    arena_free(a);
}

/* Every flag the study raises is one it explains, with the grade it is listed with. */
static void flags_are_listed(void **state)
{
    (void)state;
    for (size_t i = 0; i < study_viscosity.n_flags; i++) {
        const struct flag_spec *g = &study_viscosity.flags[i];
        assert_true(g->code != NULL && g->meaning != NULL && g->remedy != NULL);
        if (i > 0)
            assert_true(strcmp(study_viscosity.flags[i - 1].code, g->code) < 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(exact_power_law),
        cmocka_unit_test(speed_follows_fill_time),
        cmocka_unit_test(defects_end_the_range),
        cmocka_unit_test(a_run_of_good_parts_shows_the_edge),
        cmocka_unit_test(a_defect_far_beyond_the_bound),
        cmocka_unit_test(shots_beyond_a_run_do_not_undo_it),
        cmocka_unit_test(one_speed_is_named),
        cmocka_unit_test(pressure_at_the_slowest_fill_allowed),
        cmocka_unit_test(pressure_use),
        cmocka_unit_test(too_little_pressure),
        cmocka_unit_test(gate_rate),
        cmocka_unit_test(limited_batch_is_left_out),
        cmocka_unit_test(at_the_limit_of_the_press),
        cmocka_unit_test(nothing_usable),
        cmocka_unit_test(conditions_are_inferred),
        cmocka_unit_test(excluded_shots_stay_visible),
        cmocka_unit_test(flags_of_the_design),
        cmocka_unit_test(constant_pressure_is_no_melt),
        cmocka_unit_test(short_trial_makes_no_knee),
        cmocka_unit_test(flags_are_listed),
    };
    return cmocka_run_group_tests_name("viscosity study", tests, NULL, NULL);
}
