/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Simulated trials with a known truth. The stream is a counter hashed by splitmix64 (Steele, Lea
 * and Flood 2014, from memory), so a trial is a pure function of its seed. */
#ifndef TESTS_SIMULATE_H
#define TESTS_SIMULATE_H

#include <stddef.h>
#include <stdint.h>

struct sim_stream {
    uint64_t state;
};
double sim_uniform(struct sim_stream *s); /* in (0, 1) */
double sim_normal(struct sim_stream *s);  /* Box and Muller */

/* Part weight against hold time, g and s, on a plateau of 21.5 g. */
enum sim_truth {
    SIM_EXPONENTIAL,
    SIM_LINEAR_PLATEAU,
    SIM_LOGISTIC,
    SIM_TWO_EXPONENTIALS,
    SIM_HILL,
    SIM_GOMPERTZ,
    SIM_LINE, /* the rest never level off in any tested range */
    SIM_LOGARITHM,
    SIM_SLOW_EXPONENTIAL,
    SIM_TRUTHS
};
extern const char *const sim_truth_name[SIM_TRUTHS];
#define SIM_PLATEAU 21.5
double sim_weight(enum sim_truth t, double x);
/* The x from which the weight stays within `tolerance` of its plateau; INFINITY where there is
 * none. */
double sim_freeze(enum sim_truth t, double tolerance);

struct sim_design {
    size_t conditions, shots;
    double first, last; /* settings, evenly spaced */
    double shot_sd, condition_sd;
    double step; /* of the balance; 0 none */
};
/* Fills x and y (conditions * shots values); returns their number. */
size_t sim_trial(enum sim_truth t, const struct sim_design *d, uint64_t seed, double *x, double *y);

#endif
