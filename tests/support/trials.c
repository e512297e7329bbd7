/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trials.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>

#define TAIL 0.005             /* on each side */
#define Z99 2.5758293035489004 /* of the normal distribution */

size_t sim_trials(size_t usual, size_t most)
{
    const char *s = getenv("PLATEAU_TRIALS");
    long n = s != NULL ? strtol(s, NULL, 10) : 0;
    return n > 0 && (most == 0 || (size_t)n <= most) ? (size_t)n : usual;
}

double share_upper_99(double share, double n)
{
    double hits = round(share * n);
    return !(n > 0.0) || hits >= n ? 1.0 : gsl_cdf_beta_Qinv(TAIL, hits + 1.0, n - hits);
}

double share_lower_99(double share, double n)
{
    return 1.0 - share_upper_99(1.0 - share, n);
}

void trials_add(struct trials_mean *m, double v)
{
    m->sum += v;
    m->squares += v * v;
    m->n += 1.0;
}

double trials_mean(const struct trials_mean *m)
{
    return m->sum / m->n;
}

double trials_lower_99(const struct trials_mean *m)
{
    double mean = trials_mean(m), variance = (m->squares - m->n * mean * mean) / (m->n - 1.0);
    return m->n > 1.0 ? mean - Z99 * sqrt(fmax(0.0, variance) / m->n) : -HUGE_VAL;
}
