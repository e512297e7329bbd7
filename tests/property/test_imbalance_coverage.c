/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Coverage of the interval of imbalance on simulated short-shot studies with a known truth: 2, 4, 8
 * and 32 cavities, 3, 5 and 10 shots, true imbalance 0, 1, 3 and 5 %, cavities spread evenly, in
 * two halves, or all alike but for one heavy and one light. Every shot has a weight of its own in
 * common (sd 1 %), every reading its scatter (sd 0.5 %, or 0.1 % and read to 0.01
 * g). PLATEAU_TRIALS sets the number of trials a cell (200 by default, so that the whole suite
 * stays quick). A cell passes when the upper end of its 99 % Monte Carlo interval reaches 94 %. The
 * stream is fixed, so a result is reproducible.
 */
#include <math.h>
#include <stdlib.h>

#include "near.h"
#include "plateau/math.h"
#include "plateau/math_anova.h"
#include "simulate.h"
#include "trials.h"

#define TRIALS 200
#define BAR 0.94
#define MOST_CAVITIES 32
#define MOST_SHOTS 10

enum spread { LINEAR, HALVES, EXTREMES, SPREADS };
static const char *const spread_name[SPREADS] = {"linear", "halves", "extremes"};

static const size_t cavities[] = {2, 4, 8, 32}, shots[] = {3, 5, 10};
static const double truths[] = {0.0, 0.01, 0.03, 0.05};

struct scatter {
    double own, step; /* sd of a reading, as a share; step of the balance, g */
};
static const struct scatter scatters[] = {{0.005, 0.0}, {0.001, 0.01}};

struct cell {
    size_t k, n;
    double truth;
    enum spread spread;
    struct scatter scatter;
};

/* Mean of cavity i: the largest is 12 g, the smallest 12 g (1 - truth). */
static double mean_of(const struct cell *c, size_t i)
{
    double at = (double)i / (double)(c->k - 1);
    if (c->spread == HALVES)
        at = i < c->k / 2 ? 0.0 : 1.0;
    if (c->spread == EXTREMES)
        at = i == 0 ? 0.0 : i == c->k - 1 ? 1.0 : 0.5;
    return 12.0 * (1.0 - c->truth * at);
}

static void simulate(const struct cell *c, struct sim_stream *s, double y[][MOST_SHOTS])
{
    for (size_t j = 0; j < c->n; j++) {
        double all = 1.0 + 0.01 * sim_normal(s);
        for (size_t i = 0; i < c->k; i++) {
            double v = mean_of(c, i) * all + 12.0 * c->scatter.own * sim_normal(s);
            y[i][j] = c->scatter.step > 0.0 ? round(v / c->scatter.step) * c->scatter.step : v;
        }
    }
}

/* The quantiles of a cell are those of every trial: the interval is checked to be math_imbalance's
 * on the first one. */
struct factors {
    double q, t;
};

static struct factors factors_of(const struct cell *c)
{
    double dof = (double)((c->k - 1) * (c->n - 1));
    return (struct factors){math_range_quantile(0.975, c->k, dof), math_t_quantile(0.975, dof)};
}

static void interval(const struct anova_two_way *t, const struct cell *c, const struct factors *f,
                     double *low, double *high)
{
    double largest = t->row_mean[0], smallest = t->row_mean[0], n = (double)c->n;
    for (size_t i = 1; i < c->k; i++) {
        largest = fmax(largest, t->row_mean[i]);
        smallest = fmin(smallest, t->row_mean[i]);
    }
    double s = fmax(t->residual_sd, c->scatter.step / sqrt(12.0)), range = largest - smallest;
    *low = fmax(0.0, range - f->q * s / sqrt(n)) / largest;
    *high = (range + f->t * s * sqrt(2.0 / n)) / largest;
}

struct score {
    size_t covered, low_missed, high_missed;
    double width;
};

static struct score score_of(const struct cell *c, uint64_t seed, size_t n)
{
    static double y[MOST_CAVITIES][MOST_SHOTS];
    const double *rows[MOST_CAVITIES];
    struct sim_stream s = {seed};
    struct score r = {0};
    struct factors f = factors_of(c);
    for (size_t i = 0; i < c->k; i++)
        rows[i] = y[i];
    for (size_t trial = 0; trial < n; trial++) {
        struct arena *a = arena_new();
        struct anova_two_way t;
        struct imbalance i;
        double low, high;
        simulate(c, &s, y);
        math_anova_two_way(a, rows, c->k, c->n, &t);
        interval(&t, c, &f, &low, &high);
        if (trial == 0) {
            math_imbalance(&t, c->scatter.step, 0.95, &i);
            assert_near(i.low, low, 1e-12, 1e-15);
            assert_lre(i.high, high, 12.0);
        }
        r.low_missed += low > c->truth;
        r.high_missed += high < c->truth;
        r.covered += low <= c->truth && c->truth <= high;
        r.width += (high - low) / (double)n;
        arena_free(a);
    }
    return r;
}

static void covers(void **state)
{
    const struct cell *base = *state;
    double worst = 1.0;
    size_t n = sim_trials(TRIALS, 0), cells = 0;
    for (size_t i = 0; i < PL_COUNT(truths); i++)
        for (int s = 0; s < SPREADS; s++)
            for (size_t m = 0; m < PL_COUNT(scatters); m++) {
                struct cell c = *base;
                c.truth = truths[i];
                c.spread = (enum spread)s;
                c.scatter = scatters[m];
                if (s > 0 && (c.truth <= 0.0 || c.k == 2)) /* the same cell as the linear one */
                    continue;
                uint64_t seed = (c.k * 101 + c.n) * 1009 + i * 31 + (size_t)s * 7 + m;
                struct score r = score_of(&c, seed * 0x9E3779B97F4A7C15u, n);
                double share = (double)r.covered / (double)n;
                if (n > TRIALS)
                    print_message("%2zu cavities %2zu shots truth %.0f %% %-8s sd %.1f %%: covered "
                                  "%.4f, low end above the truth %.4f, high end below it %.4f, "
                                  "mean width %.2f %%\n",
                                  c.k, c.n, 100.0 * c.truth, spread_name[s], 100.0 * c.scatter.own,
                                  share, (double)r.low_missed / (double)n,
                                  (double)r.high_missed / (double)n, 100.0 * r.width);
                worst = fmin(worst, share);
                cells++;
                assert_true(share_upper_99(share, (double)n) >= BAR);
            }
    print_message("%2zu cavities %2zu shots: %zu cells of %zu trials, least coverage %.4f\n",
                  base->k, base->n, cells, n, worst);
}

int main(void)
{
    enum { CELLS = PL_COUNT(cavities) * PL_COUNT(shots) };
    static struct cell cells[CELLS];
    static char names[CELLS][64];
    struct CMUnitTest tests[CELLS];
    for (size_t i = 0; i < CELLS; i++) {
        cells[i].k = cavities[i / PL_COUNT(shots)];
        cells[i].n = shots[i % PL_COUNT(shots)];
        snprintf(names[i], sizeof names[i], "%zu cavities, %zu shots", cells[i].k, cells[i].n);
        tests[i] = (struct CMUnitTest){names[i], covers, NULL, NULL, &cells[i]};
    }
    return cmocka_run_group_tests(tests, NULL, NULL);
}
