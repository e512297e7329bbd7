/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Bounds that leave nothing, or may leave nothing, and the shots that would tell. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

/* The end of the interval that would leave most room; the safe end where no interval is given. */
static double optimistic_end(const struct bound *b)
{
    double v = b->side == BOUND_LOWER ? b->low : b->high;
    return isnan(v) ? b->value : v;
}

/* The limit that asks for most even at its optimistic end. */
static const struct bound *firmest(const struct bound **list, size_t n)
{
    const struct bound *best = NULL;
    for (size_t i = 0; i < n; i++) {
        if (list[i]->grade != BOUND_LIMIT)
            continue;
        double v = optimistic_end(list[i]);
        if (best == NULL ||
            (list[i]->side == BOUND_LOWER ? v > optimistic_end(best) : v < optimistic_end(best)))
            best = list[i];
    }
    return best;
}

/* "gate-freeze"; where both bounds come from one study, what makes this one: "pressure use at the
 * slowest fill allowed in viscosity". */
static const char *origin(const struct work *w, const struct bound *b, const struct bound *other)
{
    const char *what = b->criterion != NULL ? window_criterion_title(w, b) : b->model;
    if (what == NULL || strcmp(b->study, other->study) != 0)
        return b->study;
    return arena_printf(w->arena, "%s in %s", what, b->study);
}

static void no_window(struct work *w, const struct setting_spec *s, const struct bound *low,
                      const struct bound *high, struct window_setting *out)
{
    struct no_window *none = ARENA_PUSH(w->arena, w->window->none, w->window->n_none, w->cap_none);
    *none = (struct no_window){.setting = s->setting, .low = low, .high = high};
    none->text = arena_printf(
        w->arena,
        "No %s satisfies both limits: %s needs at least %s, and %s allows at most %s, even where "
        "both are read at the ends of their intervals that leave most room. Change the mold, the "
        "material or the part before looking for a setting.",
        s->noun, origin(w, low, high), window_words(w, s, optimistic_end(low), -1),
        origin(w, high, low), window_words(w, s, optimistic_end(high), +1));
    out->verdict = VERDICT_NOT_MET;
    out->by_convention = false;
    out->because = arena_printf(w->arena, "The limits from %s and %s exclude each other.",
                                origin(w, low, high), origin(w, high, low));
    out->aim_because = "no value lies inside both limits";
}

/* ---- the shots that would open it ------------------------------------------------------------ */

#define SHOTS_NAMED 4
#define SHOTS 3

static const char *shots_at(const struct work *w, const struct next_shot *s, const char *study)
{
    const struct setting_spec *spec = s->setting != NULL ? window_spec(s->setting) : NULL;
    return arena_printf(w->arena, "%d shot%s at %s %s (%s%s%s)", s->shots, s->shots == 1 ? "" : "s",
                        spec != NULL         ? spec->noun
                        : s->setting != NULL ? s->setting
                                             : "setting",
                        spec != NULL ? window_words(w, spec, s->at, 0)
                                     : window_plain(w, s->dimension, s->at),
                        study, s->series != NULL ? ", " : "", s->series != NULL ? s->series : "");
}

static void add_shots(const struct work *w, const struct finding *f, struct text *t, size_t *n)
{
    for (size_t i = 0; f != NULL && i < f->n_next_shots && *n < SHOTS_NAMED; i++, ++*n)
        text_addf(t, "%s%s", *n > 0 ? "; " : "", shots_at(w, &f->next_shots[i], f->study));
}

/* Where the studies name none: at the safe end, which narrows the interval from both sides. */
static void ask_for_shots(struct work *w, const struct setting_spec *s, const struct bound *b,
                          const struct bound *other, struct text *t, size_t *n)
{
    double other_end = b->side == BOUND_LOWER ? b->low : b->high;
    if (s->aim == AIM_NONE || isnan(other_end) || !(fabs(other_end - b->value) > 0.0))
        return;
    struct next_shot *shot = window_next_shot(w);
    shot->setting = s->setting;
    shot->dimension = s->dimension;
    shot->at = round_10(isfinite(other_end) ? 0.5 * (b->value + other_end) : b->value);
    shot->shots = SHOTS;
    shot->why = arena_printf(w->arena,
                             "the bounds on the %s from %s and %s cross within their "
                             "intervals",
                             s->noun, b->study, other->study);
    shot->promise = arena_printf(w->arena, "narrows the interval of the bound from %s", b->study);
    text_addf(t, "%s%s", *n > 0 ? "; " : "", shots_at(w, shot, b->study));
    ++*n;
}

/* "3 shots at hold time 5.5 s (gate-freeze); ...", or NULL. */
static const char *opening_shots(struct work *w, const struct setting_spec *s,
                                 const struct bound *low, const struct bound *high)
{
    struct text t;
    text_init(&t, w->arena);
    size_t n = 0;
    add_shots(w, window_finding(w, low->study), &t, &n);
    if (strcmp(low->study, high->study) != 0)
        add_shots(w, window_finding(w, high->study), &t, &n);
    if (n == 0 && optimistic_end(low) <= optimistic_end(high)) {
        ask_for_shots(w, s, low, high, &t, &n);
        ask_for_shots(w, s, high, low, &t, &n);
    }
    return n > 0 ? t.s : NULL;
}

/* ---- verdicts
 * ------------------------------------------------------------------------------------ */

static const char *which_is_a_convention(const struct work *w, const struct bound *low,
                                         const struct bound *high)
{
    const char *from_low = origin(w, low, high), *from_high = origin(w, high, low);
    if (low->grade == BOUND_CONVENTION && high->grade == BOUND_CONVENTION)
        return arena_printf(
            w->arena,
            "The bounds from %s and %s cross. Both are conventions, not limits of press, mold or "
            "material: decide which of the two shall give way.",
            from_low, from_high);
    if (low->grade == BOUND_CONVENTION || high->grade == BOUND_CONVENTION)
        return arena_printf(
            w->arena,
            "The bounds from %s and %s cross. The one from %s is a convention, not a limit of "
            "press, mold or material: decide whether it shall give way.",
            from_low, from_high, low->grade == BOUND_CONVENTION ? from_low : from_high);
    return arena_printf(w->arena,
                        "The safe ends of the bounds from %s and %s cross, but their intervals "
                        "overlap: more shots narrow the intervals and may open a window.",
                        from_low, from_high);
}

static void may_be_none(struct work *w, const struct setting_spec *s, struct window_setting *out)
{
    const struct bound *low = out->low, *high = out->high;
    out->verdict = VERDICT_NOT_SHOWN;
    out->aim_because =
        arena_printf(w->arena, "the lower bound %s from %s lies above the upper bound %s from %s",
                     window_words(w, s, low->value, +1), origin(w, low, high),
                     window_words(w, s, high->value, -1), origin(w, high, low));
    const char *shots = opening_shots(w, s, low, high);
    const char *more = "";
    if (shots != NULL)
        more = arena_printf(w->arena, " Shots that may open it: %s.", shots);
    else if (optimistic_end(low) > optimistic_end(high))
        more = " They cross by more than their intervals, so no further shots will open it.";
    else
        more = " Neither study names shots that would tell.";
    out->because = arena_printf(w->arena, "%s%s", which_is_a_convention(w, low, high), more);
    out->by_convention = false;
}

bool window_crossed(struct work *w, const struct setting_spec *s, const struct setting_bounds *b,
                    struct window_setting *out)
{
    const struct bound *low = firmest(b->lower, b->n_lower), *high = firmest(b->upper, b->n_upper);
    if (low != NULL && high != NULL && optimistic_end(low) > optimistic_end(high)) {
        no_window(w, s, low, high, out);
        return true;
    }
    if (out->low == NULL || out->high == NULL || out->low_value <= out->high_value)
        return false;
    may_be_none(w, s, out);
    return true;
}
