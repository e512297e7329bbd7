/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The answer with the shots that were excluded, and without those that stand off, beside the answer
 * as used: each must be what the study says of a table in which nothing is excluded, or in which
 * the odd shot is. */
#include <math.h>
#include <string.h>

#include "arena_bench.h"
#include "near.h"
#include "run_study.h"

#define ODD 8 /* the shot that is spoilt, counted from 0; the header is line 1 */

/* The odd shot of the finding; NULL. */
static const struct flag *odd_of(const struct finding *f)
{
    for (size_t i = 0; i < f->n_flags; i++)
        if (strcmp(f->flags[i].code, "outlier") == 0 || strcmp(f->flags[i].code, "stray-shot") == 0)
            return &f->flags[i];
    return NULL;
}

static double around(size_t shot, double sd)
{
    static const double off[5] = {-0.6, 0.9, 0.1, 1.2, -1.3};
    return off[(shot * 3 + shot / 3) % 5] * sd;
}

static const char *gate_freeze(double odd)
{
    struct text t;
    text_init(&t, arena);
    text_add(&t, "hold time [s],weight [g]\n");
    for (size_t i = 0; i < 24; i++) {
        double x = 2.0 + (double)(i / 3);
        text_addf(&t, "%g,%.3f\n", x,
                  21.5 - 1.2 * exp(-(x - 2.0) / 0.8) + around(i, 0.004) + (i == ODD ? odd : 0.0));
    }
    return t.s;
}

static const char *viscosity(double odd)
{
    static const double fill[8] = {5, 3.2, 2.2, 1.4, 1.0, 0.7, 0.5, 0.38};
    struct text t;
    text_init(&t, arena);
    text_add(&t, "injection speed [mm/s],fill time [s],transfer pressure [MPa]\n");
    for (size_t i = 0; i < 24; i++) {
        double at = fill[i / 3];
        text_addf(&t, "%.1f,%.3f,%.1f\n", 100.0 / at, at * (1.0 + around(i, 0.002)),
                  60.0 * pow(at, -0.3) * (1.0 + around(i + 1, 0.004) + (i == ODD ? odd : 0.0)));
    }
    return t.s;
}

static const char *cavity_balance(double odd)
{
    struct text t;
    text_init(&t, arena);
    text_add(&t, "weight c1 [g],weight c2 [g],weight c3 [g],weight c4 [g]\n");
    for (size_t i = 0; i < 12; i++)
        text_addf(&t, "%.3f,%.3f,%.3f,%.3f\n", 4.0 + around(i, 0.004),
                  3.95 + around(i + 1, 0.004) + (i == ODD ? odd : 0.0), 4.01 + around(i + 3, 0.004),
                  3.99 + around(i + 2, 0.004));
    return t.s;
}

static const char *pressure_drop(double odd)
{
    static const char *const stage[4] = {"nozzle", "runner", "gate", "part"};
    static const double p[4] = {20, 40, 60, 90};
    struct text t;
    text_init(&t, arena);
    text_add(&t, "stage,peak pressure [MPa]\n");
    for (size_t i = 0; i < 24; i++)
        text_addf(&t, "%s,%.2f\n", stage[i / 6],
                  p[i / 6] * (1.0 + around(i, 0.004) + (i == ODD ? odd : 0.0)));
    return t.s;
}

static const char *cooling(double odd)
{
    struct text t;
    text_init(&t, arena);
    text_add(&t, "cooling time [s],hold time [s],fill time [s],length [mm],age [h]\n");
    for (size_t i = 0; i < 24; i++) {
        double x = (double)(i / 3);
        text_addf(&t, "%g,6.5,0.6,%.3f,26\n", 2.0 + x,
                  62.40 - 0.3 * exp(-x / 1.25) + around(i, 0.004) + (i == ODD ? odd : 0.0));
    }
    return t.s;
}

static const struct {
    const char *study;
    const char *(*csv)(double odd);
    double odd;
    const char *ini;
} studies[] = {
    {"gate-freeze", gate_freeze, 0.15, ""},
    {"viscosity", viscosity, 0.15,
     "[press]\nmax_injection_pressure = 150 MPa\npressure_basis = melt\n"},
    {"cavity-balance", cavity_balance, 0.15, "[mold]\npart_weight = 4.4 g\n"},
    {"pressure-drop", pressure_drop, 0.15,
     "[press]\nmax_injection_pressure = 120 MPa\npressure_basis = melt\n"},
    {"cooling", cooling, 0.15, "[dimensions]\nlength = 62.28..62.52 mm\n"},
};

/* The table with a column `exclude`, in which `words` stand in the row of that line. */
static const char *with_column(const char *csv, long line, const char *words)
{
    struct text t;
    text_init(&t, arena);
    for (long at = 1; *csv != '\0'; at++) {
        int n = (int)strcspn(csv, "\n");
        text_addf(&t, "%.*s,%s\n", n, csv, at == 1 ? "exclude" : at == line ? words : "");
        csv += n + (csv[n] == '\n');
    }
    return t.s;
}

/* NULL: there is none. */
static const struct other_answer *other_of(const struct finding *f, enum other_shots_kind which)
{
    for (size_t i = 0; i < f->n_other_answers; i++)
        if (f->other_answers[i].which == which)
            return &f->other_answers[i];
    return NULL;
}

static void same_interval(const double *got, const double *want)
{
    for (size_t i = 0; i < 3; i++)
        assert_near(got[i], want[i], 1e-10, 0.0);
}

static void is_answer_of(const struct other_answer *o, const struct finding *f)
{
    assert_non_null(o);
    assert_null(o->reason);
    assert_string_equal(o->decision, f->decision);
    assert_int_equal(o->verdict, f->verdict);
    assert_int_equal(o->rows_used, f->rows_used);
    assert_true(f->n_quantities > 0);
    assert_int_equal(o->n_quantities, f->n_quantities);
    for (size_t i = 0; i < f->n_quantities; i++) {
        const struct quantity *g = &o->quantities[i], *w = &f->quantities[i];
        assert_string_equal(g->name, w->name);
        same_interval((double[]){g->value, g->low, g->high}, (double[]){w->value, w->low, w->high});
    }
    assert_int_equal(o->n_criteria, f->n_criteria);
    for (size_t i = 0; i < f->n_criteria; i++) {
        assert_string_equal(o->criteria[i].name, f->criteria[i].name);
        assert_int_equal(o->criteria[i].verdict, f->criteria[i].verdict);
    }
    assert_int_equal(o->n_bounds, f->n_bounds);
    for (size_t i = 0; i < f->n_bounds; i++) {
        const struct bound *g = &o->bounds[i], *w = &f->bounds[i];
        assert_string_equal(g->setting, w->setting);
        same_interval((double[]){g->value, g->low, g->high}, (double[]){w->value, w->low, w->high});
    }
}

/* Of the quantities of two answers, how many have another value. */
static size_t differing(const struct other_answer *o, const struct finding *f)
{
    size_t n = 0;
    for (size_t i = 0; i < f->n_quantities; i++)
        for (size_t k = 0; k < o->n_quantities; k++)
            n += strcmp(f->quantities[i].name, o->quantities[k].name) == 0 &&
                 fabs(f->quantities[i].value - o->quantities[k].value) > 0.0;
    return n;
}

static void excluded_shots_are_put_back(void **state)
{
    (void)state;
    for (size_t i = 0; i < PL_COUNT(studies); i++) {
        const char *csv = studies[i].csv(studies[i].odd), *name = studies[i].study;
        struct finding nothing = run_study(arena, name, with_column(csv, 0, ""), studies[i].ini);
        assert_int_equal(nothing.n_left_out, 0);
        assert_null(other_of(&nothing, SHOTS_WITH_EXCLUDED));
        assert_null(nothing.with_excluded);
        struct finding f =
            run_study(arena, name, with_column(csv, ODD + 2, "part chipped"), studies[i].ini);
        assert_int_equal(f.n_left_out, 1);
        assert_int_equal(f.rows_used, nothing.rows_used - 1);
        const struct other_answer *o = other_of(&f, SHOTS_WITH_EXCLUDED);
        is_answer_of(o, &nothing);
        assert_int_equal(o->shots, 1);
        assert_string_equal(o->title, "with the excluded shot (line 10)");
        assert_non_null(strstr(f.with_excluded, "With the excluded shot (line 10) the answer is"));
        assert_true(differing(o, &f) > 0);
    }
}

static void odd_shots_are_left_out(void **state)
{
    (void)state;
    for (size_t i = 0; i < PL_COUNT(studies); i++) {
        const char *csv = studies[i].csv(studies[i].odd), *name = studies[i].study;
        struct finding f = run_study(arena, name, csv, studies[i].ini);
        struct finding less =
            run_study(arena, name, with_column(csv, ODD + 2, "part chipped"), studies[i].ini);
        is_answer_of(other_of(&f, SHOTS_WITHOUT_ODD), &less);
        is_answer_of(other_of(&less, SHOTS_WITH_EXCLUDED), &f);
    }
}

static void a_shot_without_a_reading_cannot_be_put_back(void **state)
{
    (void)state;
    struct text t;
    text_init(&t, arena);
    text_add(&t, with_column(gate_freeze(0.0), 5, "fell on the floor"));
    text_add(&t, "4,,lost\n");
    struct finding f = run_study(arena, "gate-freeze", t.s, "");
    assert_int_equal(f.n_left_out, 2);
    const struct other_answer *o = other_of(&f, SHOTS_WITH_EXCLUDED);
    assert_string_equal(o->title, "with the excluded shot (line 5)");
    assert_int_equal(o->rows_used, 24);
    text_init(&t, arena);
    text_add(&t, with_column(gate_freeze(0.0), 0, ""));
    text_add(&t, "4,,lost\n");
    f = run_study(arena, "gate-freeze", t.s, "");
    assert_int_equal(f.n_left_out, 1);
    assert_int_equal(f.n_other_answers, 0);
    assert_null(f.with_excluded);
}

/* A row for each cavity; the second cavity of the third shot is or is not left out. */
static const char *a_row_for_each_cavity(const char *words)
{
    struct text t;
    text_init(&t, arena);
    text_add(&t, "shot,cavity,weight [g],exclude\n");
    for (size_t i = 0; i < 12; i++)
        for (size_t c = 0; c < 4; c++)
            text_addf(&t, "%zu,%zu,%.3f,%s\n", i + 1, c + 1,
                      4.0 + 0.02 * (double)c + around(5 * i + 2 * c, 0.004),
                      i == 2 && c == 1 ? words : "");
    return t.s;
}

static void a_single_cavity_gets_its_reading_back(void **state)
{
    (void)state;
    const char *ini = "[mold]\npart_weight = 4.4 g\n";
    struct finding all = run_study(arena, "cavity-balance", a_row_for_each_cavity(""), ini);
    struct finding f =
        run_study(arena, "cavity-balance", a_row_for_each_cavity("flash on it"), ini);
    assert_int_equal(all.rows_used, 12);
    assert_int_equal(f.rows_used, 11);
    const struct other_answer *o = other_of(&f, SHOTS_WITH_EXCLUDED);
    is_answer_of(o, &all);
    assert_int_equal(o->shots, 0);
    assert_string_equal(o->title, "with the excluded reading of one cavity");
}

/* Parts measured too early beside parts measured later are no one study. */
static void a_refusal_is_told(void **state)
{
    (void)state;
    struct text t;
    text_init(&t, arena);
    text_add(&t, with_column(cooling(0.0), 0, ""));
    text_add(&t, "5,6.5,0.6,62.31,0.1,measured too early\n");
    struct finding f = run_study(arena, "cooling", t.s, "[dimensions]\nlength = 62.28..62.52 mm\n");
    const struct other_answer *o = other_of(&f, SHOTS_WITH_EXCLUDED);
    assert_non_null(o);
    assert_non_null(strstr(o->reason, "measured at an age of"));
    assert_int_equal(o->n_quantities, 0);
    assert_int_equal(o->verdict, VERDICT_NONE);
    assert_non_null(
        strstr(f.with_excluded, "With the excluded shot (line 26) there is no answer: "));
    assert_int_equal(f.rows_used, 24);
}

static void the_answer_stands_with_and_without(void **state)
{
    (void)state;
    for (size_t i = 0; i < PL_COUNT(studies); i++) {
        struct finding f = run_study(arena, studies[i].study, studies[i].csv(0.0), studies[i].ini);
        assert_null(odd_of(&f));
        assert_null(f.without_odd);
        assert_int_equal(f.n_other_answers, 0);
        f = run_study(arena, studies[i].study, studies[i].csv(studies[i].odd), studies[i].ini);
        assert_non_null(odd_of(&f));
        assert_int_equal(odd_of(&f)->line, ODD + 2);
        assert_non_null(f.without_odd);
        assert_non_null(strstr(f.without_odd, "Without the shot that stands off (line 10)"));
        /* nothing was removed: all rows are used in the answer itself */
        assert_int_equal(f.n_left_out, 0);
    }
}

static void two_shots_are_named_together(void **state)
{
    (void)state;
    struct text t;
    text_init(&t, arena);
    text_add(&t, "hold time [s],weight [g]\n");
    for (size_t i = 0; i < 40; i++) {
        double x = 2.0 + (double)(i / 5);
        double odd = i == 22 ? 0.2 : i == 33 ? -0.2 : 0.0;
        text_addf(&t, "%g,%.3f\n", x, 21.5 - 1.2 * exp(-(x - 2.0) / 0.8) + around(i, 0.004) + odd);
    }
    struct finding f = run_study(arena, "gate-freeze", t.s, "");
    assert_non_null(f.without_odd);
    assert_non_null(strstr(f.without_odd, "Without the 2 shots that stand off (lines 24 and 35)"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_answer_stands_with_and_without, setup, teardown),
        cmocka_unit_test_setup_teardown(two_shots_are_named_together, setup, teardown),
        cmocka_unit_test_setup_teardown(excluded_shots_are_put_back, setup, teardown),
        cmocka_unit_test_setup_teardown(odd_shots_are_left_out, setup, teardown),
        cmocka_unit_test_setup_teardown(a_shot_without_a_reading_cannot_be_put_back, setup,
                                        teardown),
        cmocka_unit_test_setup_teardown(a_single_cavity_gets_its_reading_back, setup, teardown),
        cmocka_unit_test_setup_teardown(a_refusal_is_told, setup, teardown),
    };
    return cmocka_run_group_tests_name("answers on other shots", tests, NULL, NULL);
}
