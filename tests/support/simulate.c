/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "simulate.h"

const char *const sim_truth_name[SIM_TRUTHS] = {
    "exponential", "linear-plateau", "logistic",  "two exponentials", "Hill",
    "Gompertz",    "straight line",  "logarithm", "slow exponential"};

double sim_uniform(struct sim_stream *s)
{
    s->state += 0x9E3779B97F4A7C15u;
    uint64_t z = s->state;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    z ^= z >> 31;
    return ((double)(z >> 11) + 0.5) * 0x1p-53;
}

double sim_normal(struct sim_stream *s)
{
    double r = sqrt(-2.0 * log(sim_uniform(s)));
    return r * cos(6.283185307179586 * sim_uniform(s));
}

double sim_weight(enum sim_truth t, double x)
{
    const double p = SIM_PLATEAU, a = 1.2;
    switch (t) {
    case SIM_EXPONENTIAL:
        return p - a * exp(-(x - 2.0) / 0.8);
    case SIM_LINEAR_PLATEAU:
        return p - 0.3 * fmax(0.0, 5.37 - x);
    case SIM_LOGISTIC:
        return p - a / (1.0 + exp((x - 4.0) / 0.5));
    case SIM_TWO_EXPONENTIALS:
        return p - 0.9 * exp(-(x - 2.0) / 0.5) - 0.3 * exp(-(x - 2.0) / 1.2);
    case SIM_HILL:
        return p - a / (1.0 + pow(x / 3.2, 8.0));
    case SIM_GOMPERTZ:
        return p - a * (1.0 - exp(-exp(-(x - 3.5) / 0.55)));
    case SIM_LINE:
        return 20.0 + 0.1 * x;
    case SIM_LOGARITHM:
        return 20.0 + 0.35 * log(x);
    case SIM_SLOW_EXPONENTIAL:
        return 23.0 - 3.0 * exp(-x / 12.0);
    case SIM_TRUTHS:
        break;
    }
    return NAN;
}

double sim_freeze(enum sim_truth t, double tolerance)
{
    double low = 0.1, high = 60.0;
    if (t >= SIM_LINE)
        return (double)INFINITY;
    for (int i = 0; i < 200; i++) {
        double middle = (low + high) / 2.0;
        if (SIM_PLATEAU - sim_weight(t, middle) > tolerance)
            low = middle;
        else
            high = middle;
    }
    return high;
}

size_t sim_trial(enum sim_truth t, const struct sim_design *d, uint64_t seed, double *x, double *y)
{
    struct sim_stream s = {seed * 0xD1342543DE82EF95u + 0x632BE59BD9B4E019u};
    size_t n = 0;
    for (size_t i = 0; i < d->conditions; i++) {
        double at = d->first + (d->last - d->first) * (double)i / (double)(d->conditions - 1);
        double off = d->condition_sd * sim_normal(&s);
        for (size_t k = 0; k < d->shots; k++) {
            double v = sim_weight(t, at) + off + d->shot_sd * sim_normal(&s);
            x[n] = at;
            y[n++] = d->step > 0.0 ? round(v / d->step) * d->step : v;
        }
    }
    return n;
}
