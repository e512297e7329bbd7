/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Factors that wrong units leave behind. */
#include <math.h>

#include "study_internal.h"

#define PSI_PER_BAR 14.503773773
#define LEAST_RATIO 3.0 /* an intensification ratio below it could be an effect of the process */

size_t suspect_factors(const struct suspect *s, enum dimension d, struct suspect_factor out[2])
{
    size_t n = 0;
    if (d == DIM_TIME)
        out[n++] = (struct suspect_factor){"minutes-for-seconds", 60.0, d, "minutes and seconds"};
    if (d != DIM_PRESSURE)
        return n;
    out[n++] = (struct suspect_factor){"psi-for-bar", PSI_PER_BAR, d, "psi and bar"};
    double ratio = facts_number(&s->trial->facts, "press", "intensification_ratio", PL_NAN);
    if (ratio >= LEAST_RATIO)
        out[n++] =
            (struct suspect_factor){"hydraulic-or-melt", ratio, d, "hydraulic and melt pressure"};
    return n;
}

const struct suspect_factor *suspect_match(const struct suspect_factor *f, size_t n, double ratio,
                                           double within, const struct suspect_factor **also)
{
    const struct suspect_factor *best = NULL;
    double least = log(within);
    *also = NULL;
    if (!(ratio > 0.0) || !isfinite(ratio))
        return NULL;
    for (size_t i = 0; i < n; i++) {
        double off = fabs(fabs(log(ratio)) - log(f[i].factor));
        if (off > log(within))
            continue;
        if (off <= least) {
            *also = best;
            best = &f[i];
            least = off;
        } else {
            *also = &f[i];
        }
    }
    return best;
}
