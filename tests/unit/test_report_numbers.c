/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers of the page: as many digits as were measured, and nothing that nobody can have measured.
 */
#include <math.h>
#include <string.h>

#include "near.h"
#include "plateau/report.h"

struct bench {
    struct arena *a;
    struct premises premises;
    struct window window;
    struct finding *f;
};

static int setup(void **state)
{
    struct arena *a = arena_new();
    struct bench *b = ARENA_NEW(a, struct bench);
    b->a = a;
    b->f = ARENA_NEW(a, struct finding);
    finding_init(b->f, a, "sample", "Sample");
    *state = b;
    return 0;
}

static int teardown(void **state)
{
    arena_free(((struct bench *)*state)->a);
    return 0;
}

static const char *page(struct bench *b)
{
    const struct analysis an = {&b->premises, b->f, 1, &b->window, NULL};
    struct text t;
    text_init(&t, b->a);
    report_html(&t, &an);
    return t.s;
}

static void expect(struct bench *b, const char *what, bool there)
{
    if ((strstr(page(b), what) != NULL) != there)
        fail_msg("\"%s\" is %s", what, there ? "missing" : "there");
}

/* Three shots with a timer of 0.01 s, averaged as logarithms: the sd of equal readings is the
 * rounding of the arithmetic, 1e-10, and says nothing about digits. */
static void means_of_a_coarse_timer(void **state)
{
    struct bench *b = *state;
    const double mean[] = {1.346633771, 0.4500000001}, sd[] = {0.0115184236, 4.1e-11};
    for (size_t i = 0; i < 2; i++) {
        struct condition *c = finding_condition(b->f);
        *c = (struct condition){.series = "fill time",
                                .setting = 46,
                                .block = (int)i + 1,
                                .n = 3,
                                .mean = mean[i],
                                .sd = sd[i],
                                .fitted = PL_NAN,
                                .fitted_low = PL_NAN,
                                .fitted_high = PL_NAN,
                                .setting_dimension = DIM_SPEED,
                                .dimension = DIM_TIME};
    }
    expect(b, "<td class=\"n\">1.347</td><td class=\"n\">0.0115</td>", true);
    expect(b, "<td class=\"n\">0.450</td><td class=\"n\">0.0000</td>", true);
    expect(b, "1.3466", false);
}

static void stages_are_named_not_counted(void **state)
{
    struct bench *b = *state;
    static const char *const stages[] = {"nozzle", "runner"};
    struct figure *figure = finding_figure(b->f, "sample-stages");
    figure->x.title = "stage";
    for (size_t i = 0; i < 2; i++) {
        struct condition *c = finding_condition(b->f);
        *c = (struct condition){.series = stages[i],
                                .setting = (double)i + 1.0,
                                .block = (int)i + 1,
                                .n = 3,
                                .mean = 30e6,
                                .sd = 1e5,
                                .fitted = PL_NAN,
                                .setting_dimension = DIM_COUNT,
                                .dimension = DIM_PRESSURE};
    }
    expect(b, "<th scope=\"col\">stage</th><th scope=\"col\" class=\"n\">Block</th>", true);
    expect(b, "<th scope=\"row\">runner</th><td class=\"n\">2</td>", true);
    expect(b, ">setting<", false);
}

static void shares_and_chances_next_to_nothing(void **state)
{
    struct bench *b = *state;
    const double share[] = {7.0975e-264, 6.2082e-8, 0.5, 0.00012};
    const double p[] = {4.4e-14, 0.0012, 0.04, PL_NAN};
    struct data_table *t = finding_table(b->f, "shares", "Shares", 2, 4);
    t->columns[0] = (struct data_column){"share", DIM_RATIO, NULL, false, 5, 0};
    t->columns[1] = (struct data_column){"p", DIM_COUNT, NULL, false, 2, 0};
    for (size_t i = 0; i < 4; i++) {
        t->values[2 * i] = share[i];
        t->values[2 * i + 1] = p[i];
    }
    struct quantity *q = finding_quantity(b->f, "equality_p", "equality", DIM_COUNT);
    q->value = 4e-5;
    expect(b, "<tr><td class=\"n\">below 0.01</td><td class=\"n\">below 0.001</td></tr>", true);
    expect(b, "<tr><td class=\"n\">below 0.01</td><td class=\"n\">0.0012</td></tr>", true);
    expect(b, "<tr><td class=\"n\">50.000</td><td class=\"n\">0.040</td></tr>", true);
    expect(b, "<tr><td class=\"n\">0.012000</td><td class=\"n\">-</td></tr>", true);
    expect(b, "<td class=\"n\">below 0.001</td><td class=\"i\"></td>", true); /* the quantity */
}

/* A table's ends of an interval are those of the quantity beside it: no narrower than found. The
 * decimals of a column stand in line, unless its numbers are too far apart for that. */
static void ends_in_tables_point_outward(void **state)
{
    struct bench *b = *state;
    const double v[2][4] = {{0.019341, 0.0220, 0.023817, 12.341},
                            {-0.0066, -0.00212, 0.00712, 0.0012341}};
    struct data_table *t = finding_table(b->f, "ends", "Ends", 4, 2);
    t->columns[0] = (struct data_column){"low", DIM_RATIO, NULL, false, 3, -1};
    t->columns[1] = (struct data_column){"value", DIM_RATIO, NULL, false, 3, 0};
    t->columns[2] = (struct data_column){"high", DIM_RATIO, NULL, false, 3, +1};
    t->columns[3] = (struct data_column){"far apart", DIM_RATIO, NULL, false, 3, -1};
    memcpy(t->values, v, sizeof v);
    expect(b,
           "<tr><td class=\"n\">1.934</td><td class=\"n\">2.200</td><td class=\"n\">2.382</td><td "
           "class=\"n\">1234</td></tr>",
           true);
    expect(b,
           "<tr><td class=\"n\">-0.660</td><td class=\"n\">-0.212</td><td "
           "class=\"n\">0.712</td><td class=\"n\">0.123</td></tr>",
           true);
}

static void no_share_of_parts_is_all_of_them(void **state)
{
    struct bench *b = *state;
    struct criterion *c = finding_criterion(b->f, "sample_yield");
    c->dimension = DIM_RATIO;
    c->limit = 0.9973;
    c->value = 1.0;
    c->low = 0.99997;
    c->high = PL_INF;
    expect(b, "<td class=\"n\">more than 99.99 %</td><td class=\"i\">more than 99.99 %</td>", true);
    expect(b, "100 %", false);
    c->value = 0.9991;
    c->low = 0.998;
    expect(b, "<td class=\"i\">at least 99.80 %</td>", true);
}

/* What is no share of parts may be all of it: the pressure a press has, the fill of a part. */
static void all_of_the_pressure_is_possible(void **state)
{
    struct bench *b = *state;
    struct criterion *c = finding_criterion(b->f, "pressure_use");
    c->dimension = DIM_RATIO;
    c->limit = 0.9;
    c->value = 1.0;
    expect(b, "<td class=\"n\">100 %</td>", true);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
    const struct CMUnitTest tests[] = {
        TEST(means_of_a_coarse_timer),
        TEST(stages_are_named_not_counted),
        TEST(shares_and_chances_next_to_nothing),
        TEST(ends_in_tables_point_outward),
        TEST(no_share_of_parts_is_all_of_them),
        TEST(all_of_the_pressure_is_possible),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
