/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Analysis of variance against NIST's certified values (Statistical Reference Datasets, analysis of
 * variance, public domain), against arithmetic by hand and against R (scripts/two_way.R). */
#include <math.h>
#include <stdlib.h>

#include "near.h"
#include "plateau/math_anova.h"
#include "simulate.h"

#define PI 3.14159265358979323846

static int setup(void **state)
{
    *state = arena_new();
    return 0;
}

static int teardown(void **state)
{
    arena_free(*state);
    return 0;
}

struct certified {
    const char *name;
    double ss_between, ss_within, f, r_squared, residual_sd;
    double digits;
    /* SmLs: replicates in each of the nine groups, and the leading number in tenths; else 0 */
    size_t replicates;
    double leading;
    const double *y; /* tenths of a millionth above 107.868, or ten-thousandths above 195 */
    size_t groups, n;
};

/* NIST AtmWtAg (Powell, Murphy, Gramlich, NBS J. Research 87 (1982) 9): 107.868 + y / 1e7. */
static const double silver[] = {
    1568, 1465, 1572, 1785, 1446, 1903, 1526, 1494, 1616, 1587, 1519, 1486, 1419, 1569, 1508, 1672,
    1385, 1518, 1662, 1424, 1360, 1333, 1610, 1477, 1079, 1344, 1513, 1197, 1604, 1385, 1642, 1365,
    1151, 1082, 1517, 1448, 1198, 1482, 1334, 1609, 1101, 1512, 1469, 1360, 1254, 1261, 1450, 1368};

/* NIST SiRstv (Ehrstein and Croarkin, unpublished): 195 + y / 1e4. */
static const double silicon[] = {13052, 11240, 11890, 12569, 13403, 13042, 13825, 11669, 13257,
                                 10422, 11303, 12005, 12889, 10343, 11811, 12795, 11748, 11494,
                                 11485, 9885,  12119, 11051, 11850, 10052, 12090};

/* The thirteen leading digits of SmLs07-09 leave no algorithm more than 4.4, 4.2 and 4.2 digits of
 * F: that is what is left of the data in double precision. */
static const struct certified sets[] = {
    {"SiRstv", 5.11462616000000E-02, 2.16636560000000E-01, 1.18046237440255E+00,
     1.90999039051129E-01, 1.04076068334656E-01, 10.0, 0, 0.0, silicon, 5, 25},
    {"AtmWtAg", 3.63834187500000E-09, 1.04951729166667E-08, 1.59467335677930E+01,
     2.57426544538321E-01, 1.51048314446410E-05, 10.0, 0, 0.0, silver, 2, 48},
    {"SmLs01", 1.68, 1.80, 21.0, 4.82758620689655E-01, 0.1, 13.0, 21, 10.0, NULL, 9, 0},
    {"SmLs02", 16.08, 18.0, 201.0, 4.71830985915493E-01, 0.1, 13.0, 201, 10.0, NULL, 9, 0},
    {"SmLs03", 160.08, 180.0, 2001.0, 4.70712773465067E-01, 0.1, 13.0, 2001, 10.0, NULL, 9, 0},
    {"SmLs04", 1.68, 1.80, 21.0, 4.82758620689655E-01, 0.1, 10.0, 21, 1e7, NULL, 9, 0},
    {"SmLs05", 16.08, 18.0, 201.0, 4.71830985915493E-01, 0.1, 10.0, 201, 1e7, NULL, 9, 0},
    {"SmLs06", 160.08, 180.0, 2001.0, 4.70712773465067E-01, 0.1, 10.0, 2001, 1e7, NULL, 9, 0},
    {"SmLs07", 1.68, 1.80, 21.0, 4.82758620689655E-01, 0.1, 4.0, 21, 1e13, NULL, 9, 0},
    {"SmLs08", 16.08, 18.0, 201.0, 4.71830985915493E-01, 0.1, 4.0, 201, 1e13, NULL, 9, 0},
    {"SmLs09", 160.08, 180.0, 2001.0, 4.70712773465067E-01, 0.1, 4.0, 2001, 1e13, NULL, 9, 0},
};

/* Simon and Lesage, Computational Statistics and Data Analysis 8 (1989) 325: every group starts at
 * its tenth and goes on one tenth below and above it in turn. A quotient of whole numbers is the
 * double nearest to the decimal number of NIST's file. */
static size_t simon_lesage(const struct certified *c, double *y, size_t *group)
{
    static const double tenth[9] = {4, 3, 5, 3, 5, 3, 5, 3, 5};
    size_t n = 0;
    for (size_t g = 0; g < 9; g++)
        for (size_t j = 0; j < c->replicates; j++) {
            double off = j == 0 ? 0.0 : j % 2 == 1 ? -1.0 : 1.0;
            group[n] = g;
            y[n++] = (c->leading + tenth[g] + off) / 10.0;
        }
    return n;
}

static size_t observed(const struct certified *c, double *y, size_t *group)
{
    for (size_t i = 0; i < c->n; i++) {
        group[i] = i / (c->n / c->groups);
        y[i] = c->y == silver ? (1078680000.0 + c->y[i]) / 1e7 : (1950000.0 + c->y[i]) / 1e4;
    }
    return c->n;
}

static void nist(void **state)
{
    const struct certified *c = *state;
    struct arena *a = arena_new();
    double *y = ARENA_ARRAY(a, double, 9 * c->replicates + c->n);
    size_t *group = ARENA_ARRAY(a, size_t, 9 * c->replicates + c->n);
    size_t n = c->replicates > 0 ? simon_lesage(c, y, group) : observed(c, y, group);
    struct anova_one_way r;
    math_anova_one_way(a, y, group, n, c->groups, &r);
    print_message("%s: F %.15g, %.1f digits; sd %.1f\n", c->name, r.f, lre(r.f, c->f),
                  lre(r.residual_sd, c->residual_sd));
    assert_lre(r.f, c->f, c->digits);
    /* exact arithmetic on the doubles gives 9.94 digits of SmLs05 and 3.91 of SmLs09 here */
    assert_lre(r.ss_between, c->ss_between, c->digits - 0.1);
    assert_lre(r.ss_within, c->ss_within, c->digits);
    assert_lre(r.r_squared, c->r_squared, c->digits);
    assert_lre(r.residual_sd, c->residual_sd, c->digits);
    assert_near(r.df_between, (double)c->groups - 1.0, 0.0, 0.0);
    assert_near(r.df_within, (double)(n - c->groups), 0.0, 0.0);
    arena_free(a);
}

/* NIST/SEMATECH e-Handbook 7.4.3.3, recomputed in R: F 9.591107, p 0.0032482. */
static void handbook(void **state)
{
    const double y[] = {6.9, 5.4, 5.8, 4.6, 4.0, 8.3, 6.8, 7.8, 9.2, 6.5, 8.0, 10.5, 8.1, 6.9, 9.3};
    size_t group[15];
    struct anova_one_way r;
    for (size_t i = 0; i < 15; i++)
        group[i] = i / 5;
    math_anova_one_way(*state, y, group, 15, 3, &r);
    assert_lre(r.ss_between, 27.897333333333333, 12.0);
    assert_lre(r.ss_within, 17.452, 12.0);
    assert_lre(r.f, 9.591107, 6.5);
    assert_lre(r.p, 0.0032482, 4.5);
}

static void one_way_edges(void **state)
{
    const double y[] = {1.0, 1.0, 2.0, 2.0};
    const size_t alone[] = {0, 1, 2, 3}, pairs[] = {0, 0, 3, 3}, same[] = {1, 1, 1, 1};
    struct anova_one_way r;
    math_anova_one_way(*state, y, alone, 4, 4, &r); /* nothing left within */
    assert_true(isnan(r.f) && isnan(r.residual_sd));
    math_anova_one_way(*state, y, pairs, 4, 4, &r); /* two of the four groups are empty */
    assert_int_equal(r.groups, 2);
    assert_true(isinf(r.f));
    assert_near(r.p, 0.0, 0.0, 0.0);
    assert_near(r.r_squared, 1.0, 0.0, 0.0);
    math_anova_one_way(*state, y, same, 4, 4, &r);
    assert_true(isnan(r.f));
    assert_lre(r.residual_sd, sqrt(1.0 / 3.0), 15.0);
}

static const double four[4][6] = {{12.412, 12.431, 12.405, 12.440, 12.399, 12.426},
                                  {12.305, 12.318, 12.301, 12.337, 12.290, 12.311},
                                  {12.498, 12.520, 12.487, 12.529, 12.489, 12.507},
                                  {12.377, 12.391, 12.362, 12.391, 12.358, 12.380}};
static const double *const four_rows[] = {four[0], four[1], four[2], four[3]};

/* R: summary(aov(y ~ cavity + shot)), scripts/two_way.R */
static void two_way(void **state)
{
    struct anova_two_way t;
    math_anova_two_way(*state, four_rows, 4, 6, &t);
    assert_lre(t.ss_rows, 0.119661666666667, 9.0);
    assert_lre(t.ss_columns, 0.00477183333333303, 9.0);
    assert_lre(t.ss_residual, 0.000225833333333238, 9.0);
    assert_lre(t.f_rows, 2649.3357933590637, 9.0);
    assert_lre(t.f_columns, 63.3896678967016, 9.0);
    assert_lre(t.p_rows, 1.18311331120985e-20, 9.0);
    assert_lre(t.p_columns, 1.49653332764875e-09, 9.0);
    assert_lre(t.residual_sd, 0.00388014890894012, 9.0);
    assert_lre(t.row_mean[1], (12.305 + 12.318 + 12.301 + 12.337 + 12.290 + 12.311) / 6.0, 14.0);
    assert_near(t.df_residual, 15.0, 0.0, 0.0);
}

/* By hand: rows 10 12 / 11 15 have means 11, 13; columns 10.5, 13.5; overall 12. Residuals are
 * +-0.5; sums of squares 4, 9, 1; F 4 and 9 on (1, 1) degrees of freedom, p = 1 - 2/pi atan(sqrt
 * F). */
static void two_way_by_hand(void **state)
{
    const double a[] = {10.0, 12.0}, b[] = {11.0, 15.0};
    const double *const y[] = {a, b};
    struct anova_two_way t;
    math_anova_two_way(*state, y, 2, 2, &t);
    assert_near(t.overall, 12.0, 0.0, 0.0);
    assert_near(t.residual[0], 0.5, 0.0, 1e-15);
    assert_near(t.residual[1], -0.5, 0.0, 1e-15);
    assert_near(t.residual[3], 0.5, 0.0, 1e-15);
    assert_lre(t.ss_rows, 4.0, 15.0);
    assert_lre(t.ss_columns, 9.0, 15.0);
    assert_lre(t.ss_residual, 1.0, 15.0);
    assert_lre(t.f_rows, 4.0, 14.0);
    assert_lre(t.p_rows, 1.0 - 2.0 / PI * atan(2.0), 13.0);
    assert_lre(t.p_columns, 1.0 - 2.0 / PI * atan(3.0), 13.0);
}

/* What a shot has in common moves neither the cavities' differences nor their scatter; neither does
 * a common offset of a million. */
static void shots_are_taken_out(void **state)
{
    double moved[4][6];
    const double *const y[] = {moved[0], moved[1], moved[2], moved[3]};
    struct anova_two_way t, u;
    for (size_t i = 0; i < 4; i++)
        for (size_t j = 0; j < 6; j++)
            moved[i][j] = four[i][j] + 1048576.0 + (double)(j * j) / 8.0;
    math_anova_two_way(*state, four_rows, 4, 6, &t);
    math_anova_two_way(*state, y, 4, 6, &u);
    assert_lre(u.ss_rows, t.ss_rows, 8.0);
    assert_lre(u.residual_sd, t.residual_sd, 7.0);
}

static void one_shot(void **state)
{
    const double a[] = {10.0}, b[] = {9.5};
    const double *const y[] = {a, b};
    struct anova_two_way t;
    struct imbalance i;
    math_anova_two_way(*state, y, 2, 1, &t);
    assert_true(isnan(t.f_rows) && isnan(t.residual_sd));
    math_imbalance(&t, 0.001, 0.95, &i);
    assert_lre(i.value, 0.05, 14.0);
    assert_true(isnan(i.low) && isnan(i.high));
    assert_int_equal(math_imbalance_shots(&t, &i, 0.05, 0.95), -1);
}

/* R: rstudent, scripts/two_way.R */
static void odd_observation(void **state)
{
    struct anova_two_way t;
    struct anova_odd odd;
    math_anova_two_way(*state, four_rows, 4, 6, &t);
    assert_false(math_anova_odd(&t, 0.01, 0.0, &odd));
    assert_int_equal(odd.row, 3);
    assert_int_equal(odd.column, 3);
    assert_lre(odd.distance, -0.011333333333332, 9.0);
    assert_lre(odd.p, 0.354866098298645, 9.0);
    double bad[6];
    for (size_t j = 0; j < 6; j++)
        bad[j] = four[2][j] - (j == 4 ? 0.05 : 0.0);
    const double *const y[] = {four[0], four[1], bad, four[3]};
    math_anova_two_way(*state, y, 4, 6, &t);
    assert_true(math_anova_odd(&t, 0.01, 0.0, &odd));
    assert_int_equal(odd.row, 2);
    assert_int_equal(odd.column, 4);
}

/* R: anova of the layout with and without a pattern of its own for shot 5, scripts/two_way.R */
static void odd_shot(void **state)
{
    struct anova_two_way t;
    struct anova_odd odd;
    double bad[6];
    for (size_t j = 0; j < 6; j++)
        bad[j] = four[2][j] - (j == 4 ? 0.03 : 0.0);
    const double *const y[] = {four[0], four[1], bad, four[3]};
    math_anova_two_way(*state, y, 4, 6, &t);
    assert_true(math_anova_odd_column(&t, 0.05, 0.0, &odd));
    assert_int_equal(odd.row, 2);
    assert_int_equal(odd.column, 4);
    assert_lre(odd.p, 0.0220563045266948, 8.0);
    math_anova_two_way(*state, four_rows, 4, 2, &t); /* two columns have the same pattern */
    assert_false(math_anova_odd_column(&t, 1.0, 0.0, &odd));
}

/* On 4000 clean layouts each of the two raises at most its level, and not much less: a binomial
 * share of 5 % strays by more than 1.1 points once in a thousand. */
static void odd_on_clean_data(void **state)
{
    struct sim_stream s = {77};
    size_t one = 0, shot = 0, trials = 4000;
    for (size_t i = 0; i < trials; i++) {
        struct arena_mark mark = arena_mark(*state);
        double y[5][7];
        const double *rows[5];
        struct anova_two_way t;
        struct anova_odd odd;
        for (size_t r = 0; r < 5; r++) {
            rows[r] = y[r];
            for (size_t c = 0; c < 7; c++)
                y[r][c] = 10.0 + (double)r + sim_normal(&s);
        }
        math_anova_two_way(*state, rows, 5, 7, &t);
        one += math_anova_odd(&t, 0.05, 0.0, &odd);
        shot += math_anova_odd_column(&t, 0.05, 0.0, &odd);
        arena_reset(*state, mark);
    }
    print_message("false alarms at 5 %%: weights %.2f %%, shots %.2f %%\n",
                  100.0 * (double)one / (double)trials, 100.0 * (double)shot / (double)trials);
    assert_near((double)one / (double)trials, 0.045, 0.0, 0.016);
    assert_near((double)shot / (double)trials, 0.045, 0.0, 0.016);
}

/* The formulas of the interval, by R with its own qtukey (good to 3e-7 at 15 degrees of freedom).
 */
static void imbalance_by_r(void **state)
{
    struct anova_two_way t;
    struct imbalance i;
    math_anova_two_way(*state, four_rows, 4, 6, &t);
    math_imbalance(&t, 0.001, 0.95, &i);
    assert_int_equal(i.heaviest, 2);
    assert_int_equal(i.lightest, 1);
    assert_lre(i.value, 0.0155671064907370, 12.0);
    assert_lre(i.low, 0.0149857629560106, 6.0);
    assert_lre(i.high, 0.0159489444727922, 12.0);
    assert_false(i.rounded);
    math_imbalance(&t, 0.1, 0.95, &i); /* a balance that steps by 0.1 g */
    assert_true(i.rounded);
    assert_lre(i.s, 0.1 / sqrt(12.0), 14.0);
}

/* As many shots more decide it when they say what the ones there are say; no number does where the
 * limit is what was found. */
static void shots_that_decide(void **state)
{
    struct anova_two_way t;
    struct imbalance i;
    math_anova_two_way(*state, four_rows, 4, 6, &t);
    math_imbalance(&t, 0.001, 0.95, &i);
    assert_int_equal(math_imbalance_shots(&t, &i, 0.02, 0.95), 0);
    assert_int_equal(math_imbalance_shots(&t, &i, 0.01, 0.95), 0);
    const double limits[] = {0.0159, 0.0158, 0.0152, 0.0153};
    for (size_t k = 0; k < PL_COUNT(limits); k++) {
        int m = math_imbalance_shots(&t, &i, limits[k], 0.95);
        assert_true(m > 0);
        struct anova_two_way more = t;
        struct imbalance j;
        more.columns = t.columns + (size_t)m;
        more.df_residual = 3.0 * (double)(more.columns - 1);
        math_imbalance(&more, 0.001, 0.95, &j);
        assert_true(i.value < limits[k] ? j.high <= limits[k] : j.low > limits[k]);
    }
}

int main(void)
{
    struct CMUnitTest tests[PL_COUNT(sets) + 16];
    size_t n = 0;
    for (; n < PL_COUNT(sets); n++)
        tests[n] = (struct CMUnitTest){sets[n].name, nist, NULL, NULL, (void *)(uintptr_t)&sets[n]};
    const struct CMUnitTest rest[] = {
        cmocka_unit_test(handbook),
        cmocka_unit_test(one_way_edges),
        cmocka_unit_test(two_way),
        cmocka_unit_test(two_way_by_hand),
        cmocka_unit_test(shots_are_taken_out),
        cmocka_unit_test(one_shot),
        cmocka_unit_test(odd_observation),
        cmocka_unit_test(odd_shot),
        cmocka_unit_test(odd_on_clean_data),
        cmocka_unit_test(imbalance_by_r),
        cmocka_unit_test(shots_that_decide),
    };
    for (size_t i = 0; i < PL_COUNT(rest); i++) {
        tests[n] = rest[i];
        tests[n].setup_func = setup;
        tests[n++].teardown_func = teardown;
    }
    return _cmocka_run_group_tests("anova", tests, n, NULL, NULL);
}
