/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The part cools from fill to ejection: the cooling study bounds the time the mold stays closed.
 * What the cooling timer has to give is that less the fill and the hold of the window; and the
 * screw must have recovered before the mold opens. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

#define RECOVERY_MARGIN 0.5 /* s; common practice, no published source */

static struct window_part part_of(const struct work *w, const struct finding *f,
                                  const char *setting)
{
    double aim = window_aim_of(w, setting);
    if (isfinite(aim))
        return (struct window_part){aim, "as aimed at"};
    double running = window_running_of(w, setting);
    if (isfinite(running))
        return (struct window_part){running, "as in use now"};
    /* the shortest of the study takes least off */
    const struct operating_value *o = window_operating(f, setting);
    if (o != NULL)
        return (struct window_part){o->low, "as run"};
    return (struct window_part){PL_NAN, NULL};
}

struct window_part window_running_part(const struct work *w, const struct finding *f,
                                       const char *setting)
{
    double running = window_running_of(w, setting);
    if (isfinite(running))
        return (struct window_part){running, "as in use now"};
    double speed = window_running_of(w, "injection_speed");
    if (strcmp(setting, "fill_time") == 0 && isfinite(speed)) {
        double t = window_fill_time_at(w, speed);
        if (isfinite(t))
            return (struct window_part){t, "as the speed in use now gives"};
    }
    return part_of(w, f, setting);
}

double window_running_closed(const struct work *w, const struct bound *b, double *off)
{
    *off = PL_NAN;
    const struct finding *f = window_finding(w, b->study);
    double hold = window_running_of(w, "hold_time");
    if (f == NULL || !isfinite(hold))
        return PL_NAN;
    double fill = 0.0;
    if (window_operating(f, "fill_time") != NULL)
        fill = window_running_part(w, f, "fill_time").value;
    *off = fill + hold;
    return round_10(*off + window_running_of(w, "cooling_time"));
}

static const char *seconds(const struct work *w, double v, int toward)
{
    return window_decimals(w, DIM_TIME, v, 3, toward);
}

static void add_cooling(struct work *w, const struct finding *f, const struct bound *closed,
                        struct window_part fill, struct window_part hold)
{
    double off = hold.value + (fill.from != NULL ? fill.value : 0.0);
    struct bound *b = window_derive(w, closed, off);
    *b = *closed;
    b->setting = "cooling_time";
    b->study = f->study;
    /* a part that is cold before hold ends needs no cooling of its own */
    b->value = round_10(fmax(0.0, closed->value - off));
    b->low = round_10(fmax(0.0, closed->low - off));
    b->high = round_10(fmax(0.0, closed->high - off));
    int toward = b->side == BOUND_LOWER ? +1 : -1;
    struct text t;
    text_init(&t, w->arena);
    text_addf(&t, "closed time %s", seconds(w, closed->value, toward));
    if (fill.from != NULL)
        text_addf(&t, " - fill %s (%s)", seconds(w, fill.value, 0), fill.from);
    text_addf(&t, " - hold %s (%s) %s %s", seconds(w, hold.value, 0), hold.from,
              closed->value < off ? "leaves" : "=", seconds(w, b->value, toward));
    if (closed->because != NULL && *closed->because != '\0')
        text_addf(&t, "; %s", closed->because);
    b->because = t.s;
}

/* The timer of the press starts recovery with cooling: a mold that opens before the screw is back
 * loses the next shot. */
static void add_recovery(struct work *w, const struct finding *f)
{
    const struct operating_value *o = window_operating(f, "recovery_time");
    double low = o != NULL ? o->low : window_running_of(w, "recovery_time");
    double high = o != NULL ? o->high : low;
    if (!isfinite(high)) {
        window_flag(w, "recovery-not-given",
                    "how long the screw takes to recover is not known, so the cooling time is not "
                    "checked against it");
        return;
    }
    struct bound *b = window_derive(w, NULL, 0.0);
    *b = (struct bound){.setting = "cooling_time",
                        .side = BOUND_LOWER,
                        .dimension = DIM_TIME,
                        .value = round_10(high + RECOVERY_MARGIN),
                        .low = round_10(low + RECOVERY_MARGIN),
                        .high = round_10(high + RECOVERY_MARGIN),
                        .grade = BOUND_LIMIT,
                        .study = f->study,
                        .model = "recovery of the screw",
                        .criterion = NULL,
                        .verdict = VERDICT_MET,
                        .rows = 0};
    b->because = arena_printf(w->arena, "the screw takes %s to recover (%s), and %s more",
                              seconds(w, high, +1), o != NULL ? "as run" : "as in use now",
                              seconds(w, RECOVERY_MARGIN, 0));
}

void window_derive_cooling(struct work *w)
{
    const struct finding *owner = NULL;
    for (size_t i = 0; i < w->n_findings; i++) {
        const struct finding *f = &w->findings[i];
        bool with_fill = window_operating(f, "fill_time") != NULL;
        for (size_t k = 0; k < f->n_bounds; k++) {
            const struct bound *b = &f->bounds[k];
            if (!isfinite(b->value))
                continue;
            if (strcmp(b->setting, "cooling_time") == 0)
                owner = f;
            if (strcmp(b->setting, "closed_time") != 0)
                continue;
            struct window_part hold = part_of(w, f, "hold_time");
            struct window_part fill = {0.0, NULL};
            if (with_fill)
                fill = part_of(w, f, "fill_time");
            if (hold.from == NULL)
                continue;
            add_cooling(w, f, b, fill, hold);
            owner = f;
        }
    }
    if (owner != NULL)
        add_recovery(w, owner);
}

void window_explain_closed(const struct work *w, const struct setting_bounds *b,
                           struct window_setting *out)
{
    for (size_t i = 0; i < b->n_lower; i++) {
        const struct derived *d = window_derived_of(w, b->lower[i]);
        const struct finding *f = window_finding(w, b->lower[i]->study);
        if (d == NULL || d->from == NULL || f == NULL || out->because == NULL)
            continue;
        bool with_fill = window_operating(f, "fill_time") != NULL;
        struct text t;
        text_init(&t, w->arena);
        struct window_part hold = part_of(w, f, "hold_time");
        text_addf(&t, "%s %s together have to reach %s: with ", out->because,
                  with_fill ? "Fill, hold and cooling" : "Hold and cooling",
                  seconds(w, d->from->value, +1));
        if (with_fill)
            text_addf(&t, "a fill shorter than %s or ",
                      seconds(w, part_of(w, f, "fill_time").value, 0));
        text_addf(&t, "a hold shorter than %s, cool longer to make up for it.",
                  seconds(w, hold.value, 0));
        out->because = t.s;
        return;
    }
}
