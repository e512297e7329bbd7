/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The flags that every study shares: the statistics behind them against R and published values, and
 * each flag from files with the trouble it names, with its place and its figures. How seldom they
 * are raised without trouble: tests/property/test_suspicion_rates.c. */
#include "suspicion_cases.h"

/* ---- the statistics ------------------------------------------------------------------------- */

/* R: lm(y ~ factor(group) + t, weights = w); and lm(y - f ~ 0 + J + t, weights = w) with
 * f = 21.5 - 1.2 exp(-(x - 2) / 0.8) and its derivatives J by the three parameters. */
static void drift_against_r(void **state)
{
    (void)state;
    const double t[9] = {0, 1, 2, 3, 4, 5, 6, 7, 8};
    const double y[8] = {10.1, 20.3, 30.2, 40.0, 10.4, 20.5, 30.7, 40.1};
    const double w[9] = {3, 3, 5, 3, 3, 4, 3, 3, 2};
    const size_t stage[8] = {0, 1, 2, 3, 0, 1, 2, 3};
    struct math_drift d = math_drift_groups(arena, t, y, w, stage, 8, 0.0);
    assert_lre(d.change, 0.499390243902440, 12);
    assert_lre(d.p, 0.0468483478711242, 10);
    assert_near(d.dof, 3.0, 0.0, 0.0);
    /* every setting once: nothing to compare */
    const size_t once[4] = {0, 1, 2, 3};
    assert_true(isnan(math_drift_groups(arena, t, y, w, once, 4, 0.0).p));
    /* the rounding of a coarse scale outweighs it */
    assert_true(math_drift_groups(arena, t, y, w, stage, 8, 10.0).p > 0.5);
    const double x[8] = {6, 3, 8, 4, 2, 7, 5, 9};
    const double g[8] = {21.494, 21.150, 21.503, 21.401, 20.300, 21.510, 21.481, 21.516};
    const double n[8] = {3, 3, 3, 4, 3, 3, 3, 2};
    double r[8], tangent[4 * 8];
    for (size_t i = 0; i < 8; i++) {
        double e = exp(-(x[i] - 2.0) / 0.8);
        r[i] = g[i] - 21.5 + 1.2 * e;
        tangent[i] = 1.0;
        tangent[8 + i] = -e;
        tangent[16 + i] = -1.2 * e * (x[i] - 2.0) / 0.64;
        tangent[24 + i] = 2.0 - 3.0 * e; /* says nothing new */
    }
    for (size_t p = 3; p <= 4; p++) {
        d = math_drift_curve(arena, t, r, n, tangent, p, 8, 0.0);
        assert_lre(d.change, 0.01258927401432126, 9);
        assert_lre(d.p, 0.00834267450187069, 8);
        assert_lre(d.told, 0.862709607022213, 9);
        assert_near(d.dof, 4.0, 0.0, 0.0);
    }
    const double full[12] = {1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0}; /* leaves no degree of freedom */
    assert_true(isnan(math_drift_curve(arena, t, r, n, full, 3, 4, 0.0).p));
}

static void revisit_against_r(void **state)
{
    (void)state;
    /* 2 * pt(-0.05 / (0.006 * sqrt(2 + 1/3 + 1/5)), 18) */
    assert_lre(math_revisit_p(0.05, 3, 5, 0.006, 18.0), 5.59046797813336e-05, 10);
    assert_true(isnan(math_revisit_p(0.05, 3, 5, 0.006, 0.0)));
    assert_near(math_revisit_p(0.0, 3, 3, 0.0, 5.0), 1.0, 0.0, 0.0);
}

static void spread_against_r(void **state)
{
    (void)state;
    const double sd[5] = {.11, .09, .13, .45, .10};
    const size_t n[5] = {3, 4, 3, 3, 5};
    struct math_spread m;
    assert_true(math_spread(sd, n, 5, 0.0, &m));
    assert_int_equal(m.at, 3);
    assert_lre(m.others, 0.10544278931336092, 12);
    assert_lre(m.p, 0.00161620994848651, 10);
    assert_near(m.own, 0.45, 0.0, 0.0);
    assert_true(math_spread(sd, n, 5, 1.0, &m)); /* a scale that rounds to more than that */
    assert_true(m.p > 0.5);
    const size_t single[5] = {1, 1, 1, 3, 1};
    assert_false(math_spread(sd, single, 5, 0.0, &m));
}

/* Critical values of Cochran's C for five laboratories of n results (ISO 5725-2, table 4, from
 * memory, three decimals): C there has a chance of 5 and of 1 %. */
static void spread_is_cochrans(void **state)
{
    (void)state;
    static const struct {
        size_t n;
        double c5, c1;
    } table[] = {{2, 0.841, 0.928}, {3, 0.684, 0.788}, {4, 0.598, 0.696}, {5, 0.544, 0.633}};
    for (size_t i = 0; i < PL_COUNT(table); i++)
        for (int k = 0; k < 2; k++) {
            double c = k == 0 ? table[i].c5 : table[i].c1, rest = (1.0 - c) / 4.0;
            const double sd[5] = {sqrt(rest), sqrt(c), sqrt(rest), sqrt(rest), sqrt(rest)};
            const size_t n[5] = {table[i].n, table[i].n, table[i].n, table[i].n, table[i].n};
            struct math_spread m;
            assert_true(math_spread(sd, n, 5, 0.0, &m));
            assert_near(m.p, k == 0 ? 0.05 : 0.01, 0.015, 0.0); /* of 0.5e-3 in C */
        }
}

static struct finding freeze(const struct freeze *s, uint64_t seed)
{
    return run_study(arena, "gate-freeze", freeze_csv(s, seed), "");
}

/* The study without the shared flags. */
static struct finding run_alone(const char *study, const char *csv)
{
    const struct study *s = study_find(study);
    struct study_input input = {s->name, s->columns, s->n_columns};
    struct trial trial = {0};
    struct table *table = ARENA_NEW(arena, struct table);
    struct diag_list diags;
    struct error e = {.code = ERR_NONE};
    struct finding f;
    diag_init(&diags, arena);
    assert_int_equal(table_load_bytes(arena, "gate-freeze.csv", csv, strlen(csv), &input, NULL,
                                      table, &diags, &e),
                     ERR_NONE);
    finding_init(&f, arena, s->name, s->title);
    assert_int_equal(s->analyze(&trial, table, &f, &e), ERR_NONE);
    return f;
}

/* ---- order in time -------------------------------------------------------------------------- */

static void a_setting_that_moved(void **state)
{
    (void)state;
    struct freeze s = mixed;
    struct finding f = freeze(&s, 3);
    assert_none(&f, "drift");
    assert_none(&f, "one-direction");
    s.last = 0.04;
    f = freeze(&s, 3);
    ASSERT_FLAG(&f, "drift", "gate-freeze.csv", 34, "6 s was run again", " g higher", "weight");
    s.last = -0.04;
    f = freeze(&s, 3);
    ASSERT_FLAG(&f, "drift", "gate-freeze.csv", 34, " g lower");
}

/* No setting twice: what the curve does not explain tells. 0.04 g over eight conditions, in which
 * the curve takes up a part. */
static void a_slow_drift(void **state)
{
    (void)state;
    struct freeze s = mixed;
    s.n = 8;
    s.sd = 0.002;
    size_t raised = 0;
    for (uint64_t seed = 0; seed < 20; seed++) {
        struct freeze clean = s;
        struct finding f = freeze(&clean, seed);
        assert_none(&f, "drift");
        s.drift = 0.05;
        f = freeze(&s, seed);
        s.drift = 0.0;
        raised += find(&f, "drift") != NULL;
        if (find(&f, "drift") != NULL && raised == 1)
            ASSERT_FLAG(&f, "drift", "gate-freeze.csv", 30, "the weight rises by 0.0", " g from",
                        "hold time");
    }
    print_message("slow drift found in %zu of 20\n", raised);
    assert_true(raised >= 15);
}

/* The study alone says the same. */
static void assert_same_verdict(const struct freeze *s, const struct finding *f)
{
    struct finding alone = run_alone("gate-freeze", freeze_csv(s, 1));
    assert_int_equal(alone.verdict, f->verdict);
    assert_int_equal(alone.n_bounds, f->n_bounds);
    assert_int_equal(alone.n_flags + 1, f->n_flags);
}

static void one_direction(void **state)
{
    (void)state;
    struct freeze s = mixed;
    const double up[8] = {2, 3, 4, 5, 6, 7, 8, 9};
    memcpy(s.hold, up, sizeof up);
    s.n = 8;
    struct finding f = freeze(&s, 1);
    ASSERT_FLAG(&f, "one-direction", "gate-freeze.csv", 2, "in the order of the setting",
                "from 2 s to 9 s", "effect of hold time");
    assert_int_equal(find(&f, "one-direction")->grade, FLAG_DOUBT);
    assert_same_verdict(&s, &f); /* a doubt does not change it */
    for (size_t i = 0; i < 8; i++)
        s.hold[i] = 9.0 - (double)i;
    f = freeze(&s, 1);
    ASSERT_FLAG(&f, "one-direction", "gate-freeze.csv", 2, "from 9 s to 2 s");
    s.hold[3] = 5.0;
    s.hold[4] = 6.0;
    f = freeze(&s, 1);
    ASSERT_FLAG(&f, "one-direction", "gate-freeze.csv", 2, "in nearly the order");
    s.hold[8] = 9.0; /* the first again */
    s.n = 9;
    f = freeze(&s, 1);
    assert_none(&f, "one-direction");
}

/* ---- scatter -------------------------------------------------------------------------------- */

static void one_condition_scatters(void **state)
{
    (void)state;
    struct freeze s = mixed;
    s.shots = 5;
    s.wide = 2;
    size_t raised = 0, odd = 0;
    for (uint64_t seed = 0; seed < 20; seed++) {
        struct finding f = freeze(&s, 100 + seed);
        bool is_odd = find(&f, "outlier") != NULL || find(&f, "stray-shot") != NULL;
        odd += is_odd;
        if (find(&f, "spread-differs") == NULL)
            continue;
        if (raised++ == 0)
            ASSERT_FLAG(&f, "spread-differs", "gate-freeze.csv", 12, "at 8 s the weight scatters",
                        " g (sd of ", " shots", " times as much");
        assert_int_equal(find(&f, "spread-differs")->line, 12);
    }
    print_message("spread-differs in %zu, an odd shot in %zu of 20\n", raised, odd);
    assert_true(raised + odd >= 15);
    assert_true(raised >= 5);
}

/* Scatter that grows with the pressure is no fault. */
static void scatter_as_a_share_is_none(void **state)
{
    (void)state;
    struct text t;
    text_init(&t, arena);
    text_add(&t, "stage,peak pressure [bar],injection speed [mm/s]\n");
    for (int round = 0; round < 2; round++)
        for (int i = 0; i < 4; i++)
            for (int k = 0; k < 5; k++)
                text_addf(&t, "s%d,%.1f,90\n", i,
                          (double)(50 << (2 * i > 5 ? 5 : 2 * i)) *
                              (1.0 + 0.01 * (double)((k * 7 + i + round) % 5 - 2)));
    struct finding f = run_study(arena, "pressure-drop", t.s, "[press]\npressure_basis = melt\n");
    assert_none(&f, "spread-differs");
}

/* ---- rows twice ----------------------------------------------------------------------------- */

static void rows_typed_twice(void **state)
{
    (void)state;
    struct freeze s = mixed;
    s.n = 8;
    const char *csv = freeze_csv(&s, 9), *from = csv;
    for (int i = 0; i < 9; i++)
        from = strchr(from, '\n') + 1; /* lines 10 to 14 */
    const char *to = from;
    for (int i = 0; i < 5; i++)
        to = strchr(to, '\n') + 1;
    struct finding f = run_study(arena, "gate-freeze", csv, "");
    assert_none(&f, "repeated-row");
    f = run_study(arena, "gate-freeze", arena_printf(arena, "%s%.*s", csv, (int)(to - from), from),
                  "");
    ASSERT_FLAG(&f, "repeated-row", "gate-freeze.csv", 34, "5 rows from here on", "line 10");
}

/* On a coarse scale every shot of the plateau weighs the same: no reason for a flag, however long
 * the run. */
static void equal_shots_are_normal(void **state)
{
    (void)state;
    struct text t;
    text_init(&t, arena);
    text_add(&t, "hold time [s],weight [g]\n");
    static const double hold[] = {6, 3, 8, 4, 2, 7, 5, 9, 6, 3, 8, 4};
    for (size_t i = 0; i < PL_COUNT(hold); i++)
        for (int k = 0; k < 3; k++)
            text_addf(&t, "%.0f,%.1f\n", hold[i], sim_weight(SIM_EXPONENTIAL, hold[i]));
    struct finding f = run_study(arena, "gate-freeze", t.s, "");
    assert_none(&f, "repeated-row");
    /* one shot at each setting, two rounds, a scale of 0.1 g: still nothing strange */
    text_init(&t, arena);
    text_add(&t, "hold time [s],weight [g]\n");
    for (int round = 0; round < 2; round++)
        for (size_t i = 0; i < 8; i++)
            text_addf(&t, "%.0f,%.1f\n", hold[i], sim_weight(SIM_EXPONENTIAL, hold[i]));
    f = run_study(arena, "gate-freeze", t.s, "");
    assert_none(&f, "repeated-row");
    /* the same to 0.1 mg is more than any press repeats */
    text_init(&t, arena);
    text_add(&t, "hold time [s],weight [g]\n");
    for (int round = 0; round < 2; round++)
        for (size_t i = 0; i < 8; i++)
            text_addf(&t, "%.0f,%.4f\n", hold[i], sim_weight(SIM_EXPONENTIAL, hold[i]));
    f = run_study(arena, "gate-freeze", t.s, "");
    ASSERT_FLAG(&f, "repeated-row", "gate-freeze.csv", 10, "8 rows from here on", "line 2");
}

static void time_stamps_twice(void **state)
{
    (void)state;
    struct finding f =
        run_study(arena, "gate-freeze",
                  "clock,hold time [s],weight [g]\n7:05:10,2,20.31\n7:05:40,2,20.33\n"
                  "7:06:10,4,21.41\n7:06:40,4,21.42\n7:07:10,6,21.49\n"
                  "7:07:40,6,21.49\n7:08:10,8,21.50\n7:06:40,4,21.42\n",
                  "");
    ASSERT_FLAG(&f, "repeated-row", "gate-freeze.csv", 9, "7:06:40", "line 5");
    /* a row of another reading at the same second, and equal rows at other times, are none */
    f = run_study(arena, "gate-freeze",
                  "clock,hold time [s],weight [g]\n7:05:10,2,20.31\n7:05:40,2,20.33\n"
                  "7:06:10,4,21.41\n7:06:40,4,21.42\n7:07:10,6,21.49\n7:07:40,6,21.49\n"
                  "7:08:10,8,21.50\n7:08:10,8,21.51\n",
                  "");
    assert_none(&f, "repeated-row");
}

/* ---- shots with numbers --------------------------------------------------------------------- */

static void shot_numbers_twice(void **state)
{
    (void)state;
    struct finding f = run_study(arena, "gate-freeze",
                                 "shot,hold time [s],weight [g]\n1,2,20.31\n2,2,20.33\n3,4,21.41\n"
                                 "4,4,21.42\n5,6,21.49\n6,6,21.49\n7,8,21.50\n4,4,21.42\n",
                                 "");
    ASSERT_FLAG(&f, "repeated-row", "gate-freeze.csv", 9, "shot 4 stands here and in line 5");
    /* numbers that begin anew at each setting name no shot */
    f = run_study(arena, "gate-freeze",
                  "shot,hold time [s],weight [g]\n1,2,20.31\n2,2,20.33\n1,4,21.41\n2,4,21.42\n"
                  "1,6,21.49\n2,6,21.49\n1,4,21.41\n2,4,21.42\n",
                  "");
    assert_none(&f, "repeated-row");
    /* left out with a reason: settled */
    f = run_study(arena, "gate-freeze",
                  "shot,hold time [s],weight [g],exclude\n1,2,20.31,\n2,2,20.33,\n3,4,21.41,\n"
                  "4,4,21.42,\n5,6,21.49,\n6,6,21.49,\n7,8,21.50,\n4,4,21.42,typed twice\n",
                  "");
    assert_none(&f, "repeated-row");
}

static void flags_are_listed(void **state)
{
    (void)state;
    size_t n;
    const struct flag_spec *flags = study_flags(&n);
    for (size_t i = 0; i < n; i++) {
        assert_true(strlen(flags[i].meaning) > 60 && strlen(flags[i].remedy) > 20);
        assert_true(i == 0 || strcmp(flags[i - 1].code, flags[i].code) < 0);
    }
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
    const struct CMUnitTest tests[] = {
        TEST(drift_against_r),    TEST(revisit_against_r),      TEST(spread_against_r),
        TEST(spread_is_cochrans), TEST(a_setting_that_moved),   TEST(a_slow_drift),
        TEST(one_direction),      TEST(one_condition_scatters), TEST(scatter_as_a_share_is_none),
        TEST(rows_typed_twice),   TEST(equal_shots_are_normal), TEST(time_stamps_twice),
        TEST(shot_numbers_twice), TEST(flags_are_listed),
    };
    return cmocka_run_group_tests_name("suspicion", tests, NULL, NULL);
}
