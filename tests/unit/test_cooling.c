/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The cooling study from bytes to finding: closed time, movement, shares, temperature, defects,
 * ages, and what is asked for next. Its flags: test_cooling_flags.c. */
#include <math.h>
#include <string.h>

#include "cooling_run.h"
#include "plateau/math_cooling.h"

/* ---- the whole ------------------------------------------------------------------------------- */

static void a_clean_study(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    struct finding f = run(s, ROWS, DIMENSIONS EJECTION);
    for (size_t i = 0; i < f.n_flags; i++)
        print_error("%s: %s\n", f.flags[i].code, f.flags[i].text);
    assert_int_equal(f.n_flags, 0);
    assert_int_equal(f.verdict, VERDICT_MET);
    const struct quantity *q = quantity(&f, "closed_time_min");
    assert_true(q->low <= true_settled() && true_settled() <= q->high);
    const struct quantity *settled = quantity(&f, "length_settled");
    assert_near(settled->value, q->value, 0.0, 0.0);
    /* the latest decides and stands first; the others stand behind it */
    assert_int_equal(f.n_bounds, 3);
    assert_string_equal(f.bounds[0].criterion, "cooling_tolerance");
    for (size_t i = 0; i < f.n_bounds; i++) {
        assert_string_equal(f.bounds[i].setting, "closed_time");
        assert_int_equal(f.bounds[i].side, BOUND_LOWER);
        assert_int_equal(f.bounds[i].grade, BOUND_LIMIT);
        assert_int_equal(f.bounds[i].verdict, VERDICT_MET);
        assert_true(f.bounds[i].value <= f.bounds[0].value);
        assert_near(f.bounds[i].value, f.bounds[i].high, 0.0, 0.0);
    }
    assert_near(f.bounds[0].value, q->high, 0.0, 0.0);
    double passes = FIRST_CLOSED + TEMPERATURE_TAU * log(TEMPERATURE_DROP / 21.0);
    const struct bound *cold = bound_of(&f, "ejection_temperature");
    assert_true(cold->low <= passes && passes <= cold->high);
    assert_near(criterion(&f, "cooling_tolerance")->limit, 0.024, 1e-9, 0.0);
    assert_int_equal(criterion(&f, "cooling_tolerance")->origin, 'O');
    assert_int_equal(criterion(&f, "cooling_yield")->origin, 'C');
    assert_int_equal(f.rows_used, ROWS);
    assert_int_equal(f.n_conditions, 18);
    assert_int_equal(f.n_figures, 2);
    assert_string_equal(f.figures[0].x.setting, "closed_time");
    assert_null(f.with_excluded);
    assert_says(f.decision, "Keep the mold closed for at least");
    assert_says(f.decision, "length stays within 0.024 mm of its end value");
}

/* ---- closed time ------------------------------------------------------------------------------
 */

static void fill_and_hold_as_given(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    struct finding column = run(s, ROWS, DIMENSIONS);
    assert_string_equal(operating(&column, "fill_time")->from, "column fill_time");
    assert_string_equal(operating(&column, "hold_time")->from, "column hold_time");
    assert_near(operating(&column, "fill_time")->low, FILL, 1e-9, 0.0);
    assert_near(operating(&column, "hold_time")->high, HOLD, 1e-9, 0.0);
    for (size_t i = 0; i < ROWS; i++)
        s[i].fill = s[i].hold = PL_NAN;
    struct finding running = run(s, ROWS,
                                 DIMENSIONS "[running]\nhold_time = 6.5 s\nfill_time = 0.6 s\n"
                                            "recovery_time = 5.2 s\nhold_pressure = 55 bar\n"
                                            "injection_speed = 60 mm/s\n");
    assert_string_equal(operating(&running, "fill_time")->from, "[running]");
    assert_string_equal(operating(&running, "hold_time")->from, "[running]");
    assert_near(operating(&running, "recovery_time")->high, 5.2, 1e-9, 0.0);
    assert_near(operating(&running, "hold_pressure")->high, 5.5, 1e-9, 0.0);
    assert_near(operating(&running, "injection_speed")->high, 60.0, 1e-9, 0.0);
    assert_near(running.bounds[0].value, column.bounds[0].value, 1e-9, 0.0);
    /* without a fill time it is left out: 0.6 s less, and no operating value says so */
    struct finding none = run(s, ROWS, DIMENSIONS "[running]\nhold_time = 6.5 s\n");
    assert_null(operating(&none, "fill_time"));
    assert_near(none.bounds[0].value, column.bounds[0].value - FILL, 1e-8, 0.0);
    assert_near(none.bounds[0].low, column.bounds[0].low - FILL, 1e-8, 0.0);
    assert_int_equal(none.verdict, VERDICT_MET);
    assert_non_null(flag_of(&none, "fill-not-given"));
}

static void without_a_hold_time(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    struct finding closed = run(s, ROWS, DIMENSIONS EJECTION);
    for (size_t i = 0; i < ROWS; i++)
        s[i].hold = PL_NAN;
    struct finding f = run(s, ROWS, DIMENSIONS EJECTION);
    assert_int_equal(f.n_bounds, closed.n_bounds);
    for (size_t i = 0; i < f.n_bounds; i++) {
        assert_string_equal(f.bounds[i].setting, "cooling_time");
        assert_int_equal(f.bounds[i].verdict, VERDICT_NOT_SHOWN);
    }
    /* what does not depend on where the clock starts moves by hold and fill */
    static const char *const shifted[] = {"ejection_temperature", "cooling_yield"};
    for (size_t i = 0; i < PL_COUNT(shifted); i++)
        assert_near(bound_of(&f, shifted[i])->value,
                    bound_of(&closed, shifted[i])->value - HOLD - FILL, 1e-7, 0.0);
    assert_int_equal(f.verdict, VERDICT_NOT_SHOWN);
    assert_null(finding_get(&f, "closed_time_min"));
    assert_near(quantity(&f, "cooling_time_min")->high, f.bounds[0].value, 0.0, 0.0);
    assert_non_null(flag_of(&f, "hold-not-given"));
    assert_string_equal(f.figures[0].x.setting, "cooling_time");
    assert_says(f.decision, "Cool for at least");
}

/* The fill time scatters from shot to shot; shots of one setting stay one condition. */
static void fill_scatters(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    struct finding alike = run(s, ROWS, DIMENSIONS);
    for (size_t i = 0; i < ROWS; i++)
        s[i].fill = FILL + 0.01 * ((double)(i % 3) - 1.0);
    struct finding f = run(s, ROWS, DIMENSIONS);
    assert_int_equal(f.n_conditions, alike.n_conditions);
    assert_near(f.bounds[0].value, alike.bounds[0].value, 1e-9, 0.0);
    assert_near(operating(&f, "fill_time")->low, FILL - 0.01, 1e-9, 0.0);
    s[4].fill = PL_NAN; /* the mean of its setting serves */
    s[3].fill = FILL - 0.01;
    s[5].fill = FILL + 0.01;
    f = run(s, ROWS, DIMENSIONS);
    assert_near(f.bounds[0].value, alike.bounds[0].value, 1e-9, 0.0);
    assert_int_equal(f.rows_used, ROWS);
}

static void in_minutes_and_another_order(void **state)
{
    (void)state;
    struct shot s[ROWS];
    struct text t;
    clean_study(s, 4, 0.0);
    struct finding f = run(s, ROWS, DIMENSIONS EJECTION);
    text_init(&t, arena);
    text_add(&t,
             "shot;cooling time [min];hold time [ms];fill time [s];length [in];part temperature "
             "[degF];age [days]\n");
    for (size_t i = ROWS; i-- > 0;)
        text_addf(&t, "%zu;%.12f;%.0f;%.1f;%.12f;%.10f;%.10f\n", i + 1, s[i].cooling / 60.0,
                  s[i].hold * 1000.0, s[i].fill, s[i].length / 25.4, s[i].temperature * 1.8 + 32.0,
                  s[i].age / 24.0);
    struct finding g = analyze(t.s, DIMENSIONS EJECTION);
    assert_int_equal(g.n_bounds, f.n_bounds);
    assert_int_equal(g.verdict, f.verdict);
    for (size_t i = 0; i < f.n_bounds; i++) {
        assert_near(g.bounds[i].value, f.bounds[i].value, 1e-7, 0.0);
        assert_near(g.bounds[i].low, f.bounds[i].low, 1e-7, 0.0);
    }
    assert_says(g.decision, " min from the start of filling");
}

/* ---- movement ---------------------------------------------------------------------------------
 */

/* Mirrored, the dimension falls to its end value; the answer is the same. */
static void a_dimension_that_falls(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 5, 0.0);
    struct finding up = run(s, ROWS, DIMENSIONS);
    for (size_t i = 0; i < ROWS; i++)
        s[i].length = 2.0 * 62.40 - s[i].length;
    struct finding down = run(s, ROWS, DIMENSIONS);
    assert_near(down.bounds[0].value, up.bounds[0].value, 1e-9, 0.0);
    assert_near(down.bounds[0].low, up.bounds[0].low, 1e-9, 0.0);
    assert_int_equal(down.verdict, up.verdict);
}

static void still_moving(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 6, 0.0);
    for (size_t i = 0; i < ROWS; i++)
        s[i].length = 62.30 + 0.03 * (s[i].cooling - 2.0) + 0.002 * (double)(i % 3);
    struct finding f = run(s, ROWS, DIMENSIONS EJECTION);
    assert_int_equal(f.n_bounds, 0); /* the others are withdrawn: the latest is not known */
    assert_int_equal(f.verdict, VERDICT_NOT_MET);
    assert_int_equal(criterion(&f, "cooling_tolerance")->verdict, VERDICT_NOT_MET);
    assert_non_null(flag_of(&f, "still-moving"));
    assert_true(isnan(quantity(&f, "closed_time_min")->value));
    assert_says(quantity(&f, "closed_time_min")->reason, "not every criterion");
    assert_says(f.decision, "No closed time is bounded: length still changes by 0.0");
    assert_true(f.n_next_shots > 0);
    for (size_t i = 0; i < f.n_next_shots; i++) {
        assert_string_equal(f.next_shots[i].setting, "cooling_time");
        assert_true(f.next_shots[i].at > 9.0);
        double steps = f.next_shots[i].at / 0.1;
        assert_near(steps, round(steps), 0.0, 1e-6);
    }
}

static void settled_before_the_first(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 7, 0.0);
    struct sim_stream r = {11};
    for (size_t i = 0; i < ROWS; i++)
        s[i].length = 62.40 + 0.003 * sim_normal(&r);
    struct finding f = run(s, ROWS, DIMENSIONS "[running]\nrecovery_time = 0.3 s\n");
    assert_near(f.bounds[0].value, FIRST_CLOSED, 1e-9, 0.0);
    assert_true(isinf(f.bounds[0].low) && f.bounds[0].low < 0.0);
    assert_int_equal(f.verdict, VERDICT_MET);
    assert_int_equal(flag_of(&f, "settled-before-first")->grade, FLAG_NOTE);
    assert_true(isnan(quantity(&f, "closed_time_min")->value));
    assert_int_equal(f.n_next_shots, 1);
    assert_near(f.next_shots[0].at, 1.0, 1e-9, 0.0); /* half of 2 s */
    /* the screw has to be back: nothing shorter makes sense */
    f = run(s, ROWS, DIMENSIONS "[running]\nrecovery_time = 1.2 s\n");
    assert_int_equal(f.n_next_shots, 0);
}

static void criteria_of_the_trial(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    struct finding share =
        run(s, ROWS,
            DIMENSIONS "[criteria]\ncooling_tolerance = 20 %\ncooling_yield = 95 %\n"
                       "conditioning_time = 20 h\n");
    const struct criterion *c = criterion(&share, "cooling_tolerance");
    assert_near(c->limit, 0.048, 1e-9, 0.0);
    assert_int_equal(c->origin, 'G');
    assert_says(c->limit_wording, "20 %");
    assert_near(criterion(&share, "cooling_yield")->limit, 0.95, 1e-12, 0.0);
    assert_int_equal(criterion(&share, "cooling_yield")->origin, 'G');
    struct finding length = run(s, ROWS, DIMENSIONS "[criteria]\ncooling_tolerance = 0.048 mm\n");
    assert_near(criterion(&length, "cooling_tolerance")->limit, 0.048, 1e-9, 0.0);
    assert_near(bound_of(&length, "cooling_tolerance")->value,
                bound_of(&share, "cooling_tolerance")->value, 1e-9, 0.0);
    struct finding tight = run(s, ROWS, DIMENSIONS);
    assert_true(bound_of(&share, "cooling_tolerance")->value <=
                bound_of(&tight, "cooling_tolerance")->value);
}

static void not_at_ejection(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    struct finding f =
        run(s, ROWS, "[dimensions]\nlength = 62.28..62.52 mm, not at ejection\n" EJECTION);
    assert_int_equal(f.n_bounds, 1);
    assert_string_equal(f.bounds[0].criterion, "ejection_temperature");
    assert_null(finding_get(&f, "length_settled"));
    assert_null(flag_of(&f, "age-not-given"));
}

/* Means of nothing and below: no share is taken of them. */
static void a_warp_of_nothing(void **state)
{
    (void)state;
    struct text t;
    struct sim_stream r = {31};
    text_init(&t, arena);
    text_add(&t, "cooling time [s],hold time [s],age [h],warp [mm]\n");
    static const int cooling[] = {6, 3, 8, 4, 2, 7, 5, 9, 6};
    for (size_t i = 0; i < PL_COUNT(cooling); i++)
        for (int k = 0; k < 3; k++)
            text_addf(&t, "%d,6,30,%.2f\n", cooling[i],
                      0.5 * exp(-(cooling[i] - 2.0) / 1.2) - 0.01 + 0.01 * sim_normal(&r));
    struct finding f = analyze(t.s, "[dimensions]\nwarp = -0.5..0.5 mm\n");
    assert_int_equal(f.verdict, VERDICT_MET);
    for (size_t i = 0; i < f.n_flags; i++)
        print_message("%s: %s\n", f.flags[i].code, f.flags[i].text);
    assert_null(flag_of(&f, "drift"));
    /* one shot at each time, and all alike */
    f = analyze("cooling time [s],hold time [s],age [h],warp [mm]\n2,6,30,0\n3,6,30,0\n4,6,30,0\n"
                "5,6,30,0\n6,6,30,0\n",
                "[dimensions]\nwarp = -0.5..0.5 mm\n");
    assert_int_equal(f.verdict, VERDICT_NOT_SHOWN);
    assert_non_null(flag_of(&f, "no-repeats"));
}

/* ---- part temperature -------------------------------------------------------------------------
 */

static void too_hot_at_the_longest(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    struct finding f = run(s, ROWS, DIMENSIONS "[material]\nejection_temperature = 50 degC\n");
    const struct criterion *c = criterion(&f, "ejection_temperature");
    assert_int_equal(c->verdict, VERDICT_NOT_MET);
    assert_true(c->low > 50.0 && c->low <= c->value && c->value <= c->high);
    assert_int_equal(f.n_bounds, 0);
    assert_non_null(flag_of(&f, "not-cold-enough"));
    assert_says(f.decision, "the part is not shown to be below 50 degC");
    f = run(s, ROWS, DIMENSIONS "[material]\nejection_temperature = 55.3 degC\n");
    assert_int_equal(criterion(&f, "ejection_temperature")->verdict, VERDICT_NOT_SHOWN);
    assert_int_equal(f.n_bounds, 0);
}

/* The hottest part of a shot has to be cold. */
static void the_hottest_cavity(void **state)
{
    (void)state;
    struct text one, two;
    struct sim_stream r = {8};
    text_init(&one, arena);
    text_init(&two, arena);
    text_add(&one, "cooling time [s],hold time [s],part temperature [degC]\n");
    text_add(&two, "cooling time [s],hold time [s],part temperature c1 [degC],part temperature c2 "
                   "[degC]\n");
    for (int cooling = 2; cooling <= 9; cooling++)
        for (int k = 0; k < 3; k++) {
            double hot = true_temperature(cooling + HOLD + FILL) + 0.3 * sim_normal(&r);
            text_addf(&one, "%d,6.5,%.1f\n", cooling, hot);
            text_addf(&two, "%d,6.5,%.1f,%.1f\n", cooling, hot - 4.0, hot);
        }
    struct finding a = analyze(one.s, EJECTION), b = analyze(two.s, EJECTION);
    assert_int_equal(a.n_bounds, 1);
    assert_near(b.bounds[0].value, a.bounds[0].value, 1e-9, 0.0);
}

/* ---- defects ----------------------------------------------------------------------------------
 */

static void defects_bound_too(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    for (size_t i = 0; i < ROWS; i++)
        if (s[i].cooling == 6.0 && i % 3 == 0)
            s[i].defect = "stuck";
    struct finding f = run(s, ROWS, DIMENSIONS EJECTION);
    const struct bound *b = bound_of(&f, "ejection_defects");
    assert_near(b->value, 7.0 + HOLD + FILL, 1e-9, 0.0);
    assert_near(b->low, 6.0 + HOLD + FILL, 1e-9, 0.0);
    assert_int_equal(b->verdict, VERDICT_NOT_SHOWN);
    assert_true(b == &f.bounds[0]);
    assert_near(quantity(&f, "closed_time_min")->high, b->value, 0.0, 0.0);
    assert_true(isnan(quantity(&f, "closed_time_min")->value));
    /* three good shots at 7 s, those at 8 and 9 s do not count there: 0.05^(1/3) = 36.84 %; the
     * least n with 0.95^n <= 0.05 is 59 */
    assert_says(criterion(&f, "ejection_defects")->because, "all 3 shots at 14.1 s were good");
    assert_says(criterion(&f, "ejection_defects")->because,
                "at least 36.84 % are good; run 56 more");
    assert_lre(criterion(&f, "ejection_defects")->low, 0.36840314986403864, 10);
    assert_int_equal(f.verdict, VERDICT_NOT_SHOWN);
    for (size_t i = 0; i < f.n_next_shots; i++)
        assert_true(f.next_shots[i].at > 6.0);
    assert_int_equal(flag_of(&f, "ejection-defects")->line, 2);
    for (size_t i = 0; i < ROWS; i++)
        if (s[i].cooling == 9.0)
            s[i].defect = "bent";
    f = run(s, ROWS, DIMENSIONS EJECTION);
    assert_int_equal(f.n_bounds, 0);
    assert_int_equal(criterion(&f, "ejection_defects")->verdict, VERDICT_NOT_MET);
    assert_says(f.decision, "parts still had defects at 16.1 s");
}

/* Rows of a run of parts carry the times and the word that they are good, and nothing else. */
static void run_of_good_parts_shows_the_bound(void **state)
{
    (void)state;
    for (int n = 55; n <= 56; n++) {
        struct shot s[ROWS];
        clean_study(s, 3, 0.0);
        for (size_t i = 0; i < ROWS; i++)
            if (s[i].cooling == 6.0 && i % 3 == 0)
                s[i].defect = "stuck";
        struct text t;
        text_init(&t, arena);
        text_add(&t, as_text(s, ROWS));
        for (int k = 0; k < n; k++)
            text_add(&t, "7.00,6.50,,,,,ok,\n");
        struct finding f = analyze(t.s, DIMENSIONS EJECTION);
        const struct criterion *k = criterion(&f, "ejection_defects");
        assert_int_equal(f.rows_used, ROWS + n);
        assert_int_equal(k->verdict, n == 56 ? VERDICT_MET : VERDICT_NOT_SHOWN);
        assert_int_equal(f.verdict, k->verdict);
        assert_int_equal(bound_of(&f, "ejection_defects")->verdict, k->verdict);
        assert_false(finding_has_flag(&f, "repeated-row"));
    }
}

/* 59 good shots at 8 s count although 7 s, nearer to the defect, was good three times only. */
static void a_run_further_on_counts(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    for (size_t i = 0; i < ROWS; i++)
        if (s[i].cooling == 6.0 && i % 3 == 0)
            s[i].defect = "stuck";
    struct text t;
    text_init(&t, arena);
    text_add(&t, as_text(s, ROWS));
    for (int k = 0; k < 56; k++)
        text_add(&t, "8.00,6.50,,,,,ok,\n");
    struct finding f = analyze(t.s, DIMENSIONS EJECTION);
    assert_int_equal(criterion(&f, "ejection_defects")->verdict, VERDICT_MET);
    assert_near(bound_of(&f, "ejection_defects")->value, 8.0 + HOLD + FILL, 1e-9, 0.0);
    assert_near(bound_of(&f, "ejection_defects")->low, 6.0 + HOLD + FILL, 1e-9, 0.0);
}

/* One part stuck at the shortest time; length decides far beyond it. Entered or not, the defect
 * changes nothing there. */
static void defect_far_below_the_bound(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    struct finding without = run(s, ROWS, DIMENSIONS);
    assert_int_equal(without.verdict, VERDICT_MET);
    double shortest = s[0].cooling;
    for (size_t i = 0; i < ROWS; i++)
        shortest = fmin(shortest, s[i].cooling);
    for (size_t i = 0, done = 0; i < ROWS && !done; i++)
        if (s[i].cooling <= shortest) {
            s[i].defect = "stuck";
            done = 1;
        }
    struct finding f = run(s, ROWS, DIMENSIONS);
    const struct criterion *k = criterion(&f, "ejection_defects");
    assert_int_equal(k->verdict, VERDICT_MET);
    assert_says(k->because, "far below the bound");
    assert_int_equal(f.verdict, VERDICT_MET);
    assert_near(f.bounds[0].value, without.bounds[0].value, 1e-9, 0.0);
    assert_non_null(flag_of(&f, "ejection-defects"));
}

static void nothing_but_defects(void **state)
{
    (void)state;
    struct finding f = analyze("cooling time [s],hold time [s],defect\n4,6,stuck\n4,6,ok\n6,6,\n"
                               "6,6,none\n8,6,-\n8,6,\n",
                               "");
    assert_int_equal(f.n_bounds, 1);
    assert_near(f.bounds[0].value, 12.0, 1e-9, 0.0);
    assert_int_equal(f.rows_used, 6);
    assert_int_equal(f.verdict, VERDICT_NOT_SHOWN);
}

/* ---- ages -------------------------------------------------------------------------------------
 */

static void ages_on_both_sides(void **state)
{
    (void)state;
    struct shot s[ROWS];
    struct finding f;
    struct error e = {.code = ERR_NONE};
    clean_study(s, 3, 0.0);
    s[7].age = 2.0;
    const struct study_file file = {"cooling", as_text(s, ROWS)};
    assert_int_equal(run_study_files(arena, &file, 1, DIMENSIONS, &f, &e), ERR_INPUT);
    assert_string_equal(e.file, "cooling.csv");
    assert_int_equal(e.line, 9);
    assert_says(e.message, "at an age of 2 h and the one in line 2 at 26 h");
    assert_says(e.message, "24 h");
    /* not when the young one is left out, nor when nothing but its temperature was measured */
    s[7].exclude = "measured too early";
    assert_int_equal(run(s, ROWS, DIMENSIONS).rows_used, ROWS - 1);
    s[7].exclude = "";
    s[7].length = PL_NAN;
    assert_int_equal(run(s, ROWS, DIMENSIONS EJECTION).verdict, VERDICT_MET);
}

static void ages_not_given_or_young(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    for (size_t i = 0; i < ROWS; i++)
        s[i].age = PL_NAN;
    struct finding f = run(s, ROWS, DIMENSIONS EJECTION);
    assert_non_null(flag_of(&f, "age-not-given"));
    assert_int_equal(criterion(&f, "cooling_tolerance")->verdict, VERDICT_NOT_SHOWN);
    assert_int_equal(criterion(&f, "cooling_yield")->verdict, VERDICT_NOT_SHOWN);
    assert_int_equal(criterion(&f, "ejection_temperature")->verdict, VERDICT_MET);
    assert_says(criterion(&f, "cooling_tolerance")->because, "the age of the parts is not given");
    assert_int_equal(f.n_bounds, 3);
    for (size_t i = 0; i < ROWS; i++)
        s[i].age = 3.0;
    f = run(s, ROWS, DIMENSIONS EJECTION);
    assert_non_null(flag_of(&f, "parts-too-young"));
    assert_says(criterion(&f, "cooling_yield")->because, "before they were 24 h old");
    assert_int_equal(f.verdict, VERDICT_NOT_SHOWN);
    assert_int_equal(f.n_bounds, 2); /* limits do not count, so the share bounds nothing */
    f = run(s, ROWS, DIMENSIONS EJECTION "[criteria]\nconditioning_time = 2 h\n");
    assert_int_equal(f.verdict, VERDICT_MET);
}

/* ---- rows -------------------------------------------------------------------------------------
 */

static void excluded_rows_are_weighed_up(void **state)
{
    (void)state;
    struct shot s[ROWS];
    clean_study(s, 3, 0.0);
    s[22].length -= 0.4;
    s[22].exclude = "dropped";
    struct finding f = run(s, ROWS, DIMENSIONS);
    assert_int_equal(f.rows_used, ROWS - 1);
    assert_int_equal(f.n_left_out, 1);
    assert_string_equal(f.left_out[0].reason, "dropped");
    assert_says(f.with_excluded, "With the excluded shot (line 24) the answer is");
    assert_int_equal(f.figures[0].n_series, 2);
    assert_int_equal(f.figures[0].series[1].role, SERIES_EXCLUDED);
}

static void rows_without_a_reading(void **state)
{
    (void)state;
    struct finding f =
        analyze("cooling time [s],hold time [s],warp [mm]\n,6,0.2\n4,6,\n6,,0.3\n", "");
    assert_int_equal(f.rows_used, 0);
    assert_int_equal(f.n_left_out, 3);
    assert_string_equal(f.left_out[1].reason, "nothing was measured");
    assert_string_equal(f.left_out[2].reason, "no hold time");
    assert_non_null(flag_of(&f, "too-little-data"));
    assert_int_equal(f.verdict, VERDICT_NOT_SHOWN);
    assert_int_equal(f.n_bounds, 0);
}

int main(void)
{
    struct CMUnitTest tests[32];
    size_t n = 0;
#define TEST(name)                                                                                 \
    tests[n++] = (struct CMUnitTest)cmocka_unit_test_setup_teardown(name, setup, teardown)
    TEST(a_clean_study);
    TEST(fill_and_hold_as_given);
    TEST(without_a_hold_time);
    TEST(fill_scatters);
    TEST(in_minutes_and_another_order);
    TEST(a_dimension_that_falls);
    TEST(still_moving);
    TEST(settled_before_the_first);
    TEST(criteria_of_the_trial);
    TEST(not_at_ejection);
    TEST(a_warp_of_nothing);
    TEST(too_hot_at_the_longest);
    TEST(the_hottest_cavity);
    TEST(defects_bound_too);
    TEST(run_of_good_parts_shows_the_bound);
    TEST(a_run_further_on_counts);
    TEST(defect_far_below_the_bound);
    TEST(nothing_but_defects);
    TEST(ages_on_both_sides);
    TEST(ages_not_given_or_young);
    TEST(excluded_rows_are_weighed_up);
    TEST(rows_without_a_reading);
    return _cmocka_run_group_tests("cooling", tests, n, NULL, NULL);
}
