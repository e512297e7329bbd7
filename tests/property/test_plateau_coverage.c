/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Coverage of the freeze time's interval on simulated trials with a known truth: 8 hold times, 3
 * shots, condition scatter 0 and 1 times the shots'. PLATEAU_TRIALS sets the number of trials a
 * cell (60 by default, so that the whole suite stays quick). A cell passes when the upper end of
 * its 99 % Monte Carlo interval reaches the bar. The stream is fixed, so a result is reproducible.
 */
#include <math.h>
#include <stdlib.h>

#include "near.h"
#include "plateau/math.h"
#include "simulate.h"
#include "trials.h"

#define TRIALS 60

struct cell {
    enum sim_truth truth;
    double noise;   /* shot sd in tolerances */
    double scatter; /* condition sd in shot sds */
    double bar;
};

static const struct cell cells[] = {
    /* inside the list of families */
    {SIM_EXPONENTIAL, 0.3, 0.0, 0.93},
    {SIM_EXPONENTIAL, 0.3, 1.0, 0.93},
    {SIM_LINEAR_PLATEAU, 0.3, 0.0, 0.93},
    {SIM_LINEAR_PLATEAU, 0.3, 1.0, 0.93},
    {SIM_LOGISTIC, 0.3, 0.0, 0.93},
    {SIM_LOGISTIC, 0.3, 1.0, 0.93},
    /* outside it */
    {SIM_TWO_EXPONENTIALS, 0.3, 0.0, 0.90},
    {SIM_TWO_EXPONENTIALS, 0.3, 1.0, 0.90},
    {SIM_HILL, 0.3, 0.0, 0.90},
    {SIM_HILL, 0.3, 1.0, 0.90},
    {SIM_GOMPERTZ, 0.3, 0.0, 0.90},
    {SIM_GOMPERTZ, 0.3, 1.0, 0.90},
};

static struct plateau_answer one_trial(const struct cell *c, uint64_t seed)
{
    double x[64], y[64], sd = c->noise * 0.001 * SIM_PLATEAU;
    struct sim_design d = {8, 3, 2.0, 9.0, sd, c->scatter * sd, 0.001};
    struct arena *a = arena_new();
    struct math_blocks b;
    struct plateau_options o = {PL_NAN, 0.001, 0.001, 0.95, 1};
    struct plateau_answer r;
    struct error e = {.code = ERR_NONE};
    math_blocks_make(a, x, y, sim_trial(c->truth, &d, seed, x, y), &b);
    assert_int_equal(plateau_find(a, &b, &o, &r, &e), ERR_NONE);
    arena_free(a);
    return r;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void covers(void **state)
{
    const struct cell *c = *state;
    size_t n = sim_trials(TRIALS, 0), answered = 0, covered = 0, late = 0, bounded = 0;
    double truth = sim_freeze(c->truth, 0.001 * SIM_PLATEAU);
    double *width = malloc(n * sizeof *width);
    assert_non_null(width);
    for (size_t t = 0; t < n; t++) {
        struct plateau_answer r = one_trial(c, (uint64_t)(c - cells) * 1000003u + t);
        if (r.state > PLATEAU_OPEN)
            continue;
        covered += r.low <= truth && truth <= r.high;
        late += r.high < truth;
        bounded += isfinite(r.bound);
        width[answered++] = r.high - r.low;
    }
    qsort(width, answered, sizeof *width, ascending);
    double share = answered > 0 ? (double)covered / (double)answered : 0.0;
    print_message("%-16s noise %.1f scatter %.0f: %zu of %zu answered, %zu bounded, covered %.3f, "
                  "interval ends too early %zu, median width %.2f s\n",
                  sim_truth_name[c->truth], c->noise, c->scatter, answered, n, bounded, share, late,
                  answered > 0 ? width[answered / 2] : PL_NAN);
    free(width);
    assert_true((double)answered >= 0.95 * (double)n);
    assert_true(share_upper_99(share, (double)answered) >= c->bar);
}

int main(void)
{
    static char names[PL_COUNT(cells)][64];
    struct CMUnitTest tests[PL_COUNT(cells)];
    for (size_t i = 0; i < PL_COUNT(cells); i++) {
        snprintf(names[i], sizeof names[i], "%s, scatter %.0f", sim_truth_name[cells[i].truth],
                 cells[i].scatter);
        tests[i] = (struct CMUnitTest){names[i], covers, NULL, NULL, (void *)(uintptr_t)&cells[i]};
    }
    return cmocka_run_group_tests(tests, NULL, NULL);
}
