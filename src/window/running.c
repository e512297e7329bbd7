/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The value in use now against the bounds. */
#include <math.h>

#include "window_internal.h"

/* Inside the safe end: met. Beyond the other end of the interval: not met. Between the two nobody
 * knows. */
static enum verdict against(const struct bound *b, double v)
{
    if (b->side == BOUND_LOWER) {
        if (v >= b->value)
            return VERDICT_MET;
        return v < (isnan(b->low) ? b->value : b->low) ? VERDICT_NOT_MET : VERDICT_NOT_SHOWN;
    }
    if (v <= b->value)
        return VERDICT_MET;
    return v > (isnan(b->high) ? b->value : b->high) ? VERDICT_NOT_MET : VERDICT_NOT_SHOWN;
}

void window_running(const struct work *w, const struct setting_spec *s,
                    const struct setting_bounds *b, struct window_setting *out)
{
    const struct facts *facts = w->premises != NULL ? w->premises->facts : NULL;
    out->running = facts_number(facts, "running", s->setting, NAN);
    out->running_verdict = VERDICT_NONE;
    if (!isfinite(out->running))
        return;
    for (size_t i = 0; i < b->n_lower; i++)
        out->running_verdict =
            verdict_worst(out->running_verdict, against(b->lower[i], out->running));
    for (size_t i = 0; i < b->n_upper; i++)
        out->running_verdict =
            verdict_worst(out->running_verdict, against(b->upper[i], out->running));
}
