/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The part cools from fill to ejection: the cooling study bounds the time the mold stays closed.
 * What the cooling timer has to give is that less the fill and the hold of the window; and the
 * screw must have recovered before the mold opens. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

#define RECOVERY_MARGIN 0.5 /* s; common practice, no published source */

/* What is taken off, and where it comes from. */
struct part {
    double value;
    const char *from;
};

static struct part part_of(const struct work *w, const struct finding *f, const char *setting)
{
    double aim = window_aim_of(w, setting);
    if (isfinite(aim))
        return (struct part){aim, "as aimed at"};
    double running = window_running_of(w, setting);
    if (isfinite(running))
        return (struct part){running, "as in use now"};
    /* the shortest of the study takes least off */
    const struct operating_value *o = window_operating(f, setting);
    if (o != NULL)
        return (struct part){o->low, "as run"};
    return (struct part){PL_NAN, NULL};
}

static const char *seconds(const struct work *w, double v, int toward)
{
    return window_decimals(w, DIM_TIME, v, 3, toward);
}

static void add_cooling(struct work *w, const struct finding *f, const struct bound *closed,
                        struct part fill, struct part hold)
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
            struct part hold = part_of(w, f, "hold_time");
            struct part fill = {0.0, NULL};
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
