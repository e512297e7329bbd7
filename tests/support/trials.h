/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How many simulated trials a test runs, and what their share says. */
#ifndef TESTS_TRIALS_H
#define TESTS_TRIALS_H

#include <stddef.h>

/* PLATEAU_TRIALS where it is a number from 1 to `most` (0: no end), else `usual`. */
size_t sim_trials(size_t usual, size_t most);

/* Ends of the 99 % interval of a share seen in n trials (Clopper and Pearson 1934, exact however
 * few the trials are). n = 0: 0 to 1. */
double share_upper_99(double share, double n);
double share_lower_99(double share, double n);

/* Of something that each trial gives: its mean, and the lower end of the 99 % interval of that
 * (normal). Zero it, add, read. */
struct trials_mean {
    double sum, squares, n;
};
void trials_add(struct trials_mean *m, double v);
double trials_mean(const struct trials_mean *m);
double trials_lower_99(const struct trials_mean *m);

#endif
