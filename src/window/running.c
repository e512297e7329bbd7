/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The value in use now against the bounds. */
#include <math.h>
#include <string.h>

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

/* The study's own bound on the closed time behind this one; NULL: there is none. */
static const struct bound *closed_bound(const struct work *w, const struct bound *b)
{
    if (strcmp(b->setting, "closed_time") == 0)
        return b;
    const struct derived *d = window_derived_of(w, b);
    return d != NULL && d->from != NULL && strcmp(d->from->setting, "closed_time") == 0 ? d->from
                                                                                        : NULL;
}

static const char *seconds(const struct work *w, double v, int toward)
{
    return window_decimals(w, DIM_TIME, v, 3, toward);
}

/* What the mold stays closed for now, and what that leaves for cooling at this fill and hold. */
static void add_closed(const struct work *w, const struct bound *closed, double off, double total,
                       struct window_setting *out)
{
    double hold = window_running_of(w, "hold_time"), cooling = total - off;
    struct text t;
    text_init(&t, w->arena);
    text_addf(&t, "%s Now the mold stays closed for ", out->because != NULL ? out->because : "");
    const struct finding *f = window_finding(w, closed->study);
    if (off > hold && f != NULL) {
        struct window_part fill = window_running_part(w, f, "fill_time");
        text_addf(&t, "fill %s (%s) + ", seconds(w, fill.value, 0), fill.from);
    }
    text_addf(&t, "hold %s + cooling %s = %s", seconds(w, hold, 0), seconds(w, cooling, 0),
              seconds(w, total, 0));
    if (strcmp(out->setting, "cooling_time") == 0) {
        int toward = closed->side == BOUND_LOWER ? +1 : -1;
        text_addf(&t, "; with that hold the cooling time has to be %s %s",
                  closed->side == BOUND_LOWER ? "at least" : "at most",
                  seconds(w, fmax(0.0, closed->value - off), toward));
    }
    text_add(&t, ".");
    out->because = t.s;
}

/* Cooling counts with the hold and the fill it runs with, not with those aimed at. */
static void judge(const struct work *w, const struct bound *b, struct window_setting *out)
{
    const struct bound *closed = closed_bound(w, b);
    double off, v = out->running;
    if (closed != NULL) {
        double total = window_running_closed(w, closed, &off);
        if (isfinite(total)) {
            v = total;
            b = closed;
        }
    }
    out->running_verdict = verdict_worst(out->running_verdict, against(b, v));
}

/* Against the bound on the closed time that decides, when all its parts are known. */
static double closed_now(const struct work *w, const struct setting_bounds *b, double *off,
                         const struct bound **closed)
{
    for (size_t i = 0; i < b->n_lower + b->n_upper; i++) {
        *closed = closed_bound(w, i < b->n_lower ? b->lower[i] : b->upper[i - b->n_lower]);
        if (*closed == NULL)
            continue;
        double total = window_running_closed(w, *closed, off);
        if (isfinite(total))
            return total;
    }
    return PL_NAN;
}

void window_running(const struct work *w, const struct setting_spec *s,
                    const struct setting_bounds *b, struct window_setting *out)
{
    double off = PL_NAN;
    const struct bound *closed = NULL;
    double total = closed_now(w, b, &off, &closed);
    out->running = window_running_of(w, s->setting);
    if (strcmp(s->setting, "closed_time") == 0)
        out->running = total;
    out->running_verdict = VERDICT_NONE;
    if (!isfinite(out->running))
        return;
    for (size_t i = 0; i < b->n_lower; i++)
        judge(w, b->lower[i], out);
    for (size_t i = 0; i < b->n_upper; i++)
        judge(w, b->upper[i], out);
    if (closed != NULL && isfinite(total))
        add_closed(w, closed, off, total, out);
}
