/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The pressure that filling takes at the aim, against both shares of what the press has. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

/* One way to tell the pressure at the aim. */
struct prediction {
    struct window_value pressure;
    const struct finding *from;
    const char *how;
};

static size_t predict(const struct work *w, double fill_time, struct prediction out[2])
{
    size_t n = 0;
    struct window_response r;
    if (window_response(w, "transfer pressure", &r) && isfinite(r.fitted.low) &&
        isfinite(r.fitted.high))
        out[n++] = (struct prediction){r.fitted, r.from, "by the curve of"};
    struct window_value p;
    const struct finding *from;
    if (window_scaled_pressure(w, fill_time, &p, &from))
        out[n++] = (struct prediction){p, from, "scaled from"};
    return n;
}

static enum verdict against(struct window_value use, double limit)
{
    if (use.high <= limit)
        return VERDICT_MET;
    return use.low > limit ? VERDICT_NOT_MET : VERDICT_NOT_SHOWN;
}

static const char *sentence(const struct work *w, const struct prediction *p, size_t n,
                            double fill_time, double available, const struct criterion *c)
{
    struct text t;
    text_init(&t, w->arena);
    text_addf(&t, "filling in %s takes", window_plain(w, DIM_TIME, fill_time));
    for (size_t i = 0; i < n; i++) {
        text_addf(
            &t, "%s %s (%s)", i > 0 ? "," : "", window_percent(w, p[i].pressure.value / available),
            window_percent_span(w, p[i].pressure.low / available, p[i].pressure.high / available));
        if (i == 0)
            text_addf(&t, " of the %s available", window_plain(w, DIM_PRESSURE, available));
        text_addf(&t, " %s %s", p[i].how, p[i].from->study);
    }
    if (c->verdict == VERDICT_MET)
        return t.s;
    text_addf(&t, "%s",
              c->verdict == VERDICT_NOT_MET ? ", more than " : ", not shown to stay within ");
    text_addf(&t, "%s: fill slower, or make the flow path easier", window_percent(w, c->limit));
    return t.s;
}

static void add_check(struct work *w, const char *key, const char *title, double limit,
                      bool own_verdict, const struct prediction *p, size_t n, double fill_time,
                      double available)
{
    const struct prediction *worst = &p[0];
    for (size_t i = 1; i < n; i++)
        if (p[i].pressure.high > worst->pressure.high)
            worst = &p[i];
    struct criterion *c = window_check(w, key);
    c->title = title;
    c->dimension = DIM_RATIO;
    c->limit = limit;
    c->limit_wording =
        arena_printf(w->arena, "%s of the available pressure", window_percent(w, limit));
    c->value = round_10(worst->pressure.value / available);
    c->low = round_10(worst->pressure.low / available);
    c->high = round_10(worst->pressure.high / available);
    c->level = window_confidence(w);
    c->sides = 2;
    const struct fact *f =
        facts_find(w->premises != NULL ? w->premises->facts : NULL, "criteria", key);
    c->origin = f != NULL && f->given ? 'G' : 'C';
    c->own_verdict = own_verdict;
    c->verdict = against((struct window_value){c->value, c->low, c->high}, limit);
    c->because = sentence(w, p, n, fill_time, available, c);
    const char *corner = window_cold_corner(w, worst->from);
    if (corner != NULL && c->verdict == VERDICT_MET) {
        c->verdict = VERDICT_NOT_SHOWN;
        c->because = arena_printf(w->arena, "%s; not shown at %s, where the melt is stiffest",
                                  c->because, corner);
    }
    c->shots_to_decide = c->verdict == VERDICT_NOT_SHOWN ? -1 : 0;
}

void window_check_pressure(struct work *w)
{
    const struct quantity *available = window_quantity(w, "available_pressure", NULL);
    double fill_time = window_aim_of(w, "fill_time");
    if (available == NULL || !isfinite(fill_time))
        return;
    struct prediction p[2];
    size_t n = predict(w, fill_time, p);
    if (n == 0)
        return;
    add_check(w, "pressure_use_max", "pressure use at the aim",
              window_limit(w, "pressure_use_max", 0.90), false, p, n, fill_time, available->value);
    add_check(w, "pressure_use_aim", "pressure use at the aim, as aimed at",
              window_limit(w, "pressure_use_aim", 0.80), true, p, n, fill_time, available->value);
}
