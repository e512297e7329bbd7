/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One gross shot in each study: it is flagged with its line, and the answer without it stands
 * beside the answer with it. */
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

static void the_answer_stands_with_and_without(void **state)
{
    (void)state;
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
    for (size_t i = 0; i < PL_COUNT(studies); i++) {
        struct finding f = run_study(arena, studies[i].study, studies[i].csv(0.0), studies[i].ini);
        assert_null(odd_of(&f));
        assert_null(f.without_odd);
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
    };
    return cmocka_run_group_tests_name("answers without odd shots", tests, NULL, NULL);
}
