/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What further shots would bring is followed in tests/property/test_next_shots.c. Here it would
 * take most of the time and changes no interval: in this program nothing is drawn ahead. */
#include <math.h>

#include "plateau/math.h"

void plateau_forecast(const struct math_blocks *blocks, const struct plateau_options *options,
                      const struct plateau_answer *answer, const struct plateau_plan *plan,
                      struct plateau_forecast *out)
{
    (void)blocks, (void)options, (void)answer, (void)plan;
    *out = (struct plateau_forecast){NAN, NAN};
}

int plateau_shots_to_decide(const struct math_blocks *blocks, const struct plateau_options *options,
                            const struct plateau_answer *answer, const double *at, size_t n)
{
    (void)blocks, (void)options, (void)answer, (void)at, (void)n;
    return -1;
}

int plateau_flat_end_shots(const struct math_blocks *blocks, const struct plateau_options *options,
                           const struct plateau_answer *answer)
{
    (void)blocks, (void)options, (void)answer;
    return -1;
}
