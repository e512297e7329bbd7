/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sentences and next shots, in the units people entered. */
#include <math.h>
#include <string.h>

#include "pressure_drop.h"

#define SHOTS_PER_STAGE 3
#define FAR 5.0        /* half widths */
#define SHOTS_WORTH 12 /* more than that in one sitting is not asked for */

const char *pressure_drop_pressure(const struct pressure_drop *p, double v, double half_width)
{
    return value_text(p->a, p->trial->display, DIM_PRESSURE, v, half_width);
}

/* To a tenth of a percent where nothing says how well it is known. */
const char *pressure_drop_share(const struct pressure_drop *p, double v, double half_width)
{
    bool known = isfinite(half_width) && half_width > 0.0005;
    if (!known && fabs(v * 100.0 - round(v * 100.0)) < 1e-9)
        return value_text(p->a, p->trial->display, DIM_RATIO, v, PL_NAN);
    return value_text(p->a, p->trial->display, DIM_RATIO, v, known ? half_width : 0.05);
}

const char *pressure_drop_between(const struct pressure_drop *p, size_t stage)
{
    if (stage == 0)
        return arena_printf(p->a, "between screw and %s", p->stages[0].name);
    return arena_printf(p->a, "between %s and %s", p->stages[stage - 1].name,
                        p->stages[stage].name);
}

/* ---- what to do ---------------------------------------------------------------------------- */

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* Place of the word in the name, without regard to letter case; NULL when it is not there. */
static const char *find_word(const char *name, const char *word)
{
    size_t n = strlen(word);
    for (; *name != '\0'; name++) {
        size_t i = 0;
        while (i < n && lower(name[i]) == word[i])
            i++;
        if (i == n)
            return name;
    }
    return NULL;
}

/* By the first trade word in the name of the stage at whose end the drop lies. */
static const char *where_to_look(const char *stage)
{
    static const struct {
        const char *word, *look;
    } places[] = {
        {"nozzle", "the nozzle: its bore, length, filter and temperature"},
        {"runner", "the runner: its cross-section, length and temperature"},
        {"sprue", "the sprue: its bore and length"},
        {"manifold", "the hot runner: its channels and temperatures"},
        {"drop", "the hot runner: its channels and temperatures"},
        {"gate", "the gate: its cross-section and the length of its land"},
        {"part", "the part: its wall thickness and flow length, the number of gates, the vents"},
        {"cavit", "the part: its wall thickness and flow length, the number of gates, the vents"},
        {"full", "the part: its wall thickness and flow length, the number of gates, the vents"},
        {"fill", "the part: its wall thickness and flow length, the number of gates, the vents"},
    };
    const char *at = NULL, *look = "this section of the flow path";
    for (size_t i = 0; i < PL_COUNT(places); i++) {
        const char *found = find_word(stage, places[i].word);
        if (found != NULL && (at == NULL || found < at)) {
            at = found;
            look = places[i].look;
        }
    }
    return look;
}

static double half_of(double low, double high)
{
    return isfinite(low) && isfinite(high) && high > low ? (high - low) / 2.0 : PL_NAN;
}

static double drop_share(const struct pressure_drop *p, size_t i)
{
    return p->stages[i].drop / p->stages[p->n_stages - 1].mean;
}

static const char *drop_text(const struct pressure_drop *p, size_t i)
{
    const struct pressure_drop_stage *s = &p->stages[i];
    return arena_printf(p->a, "%s, %s of the total",
                        pressure_drop_pressure(p, s->drop, half_of(s->drop_low, s->drop_high)),
                        pressure_drop_share(p, drop_share(p, i), 0.5));
}

/* Where the pressure goes, as a sentence; `act`: something has to be done about it. */
static const char *where_sentence(const struct pressure_drop *p, bool act)
{
    if (p->any_out_of_order)
        return "The pressure does not rise from stage to stage: bring the stages into the order "
               "of flow, or find the cause, before a drop is believed.";
    if (p->n_stages == 1)
        return "With one stage nothing tells where the pressure goes.";
    const char *look = where_to_look(p->stages[p->largest].name);
    const char *largest = pressure_drop_between(p, p->largest);
    if (!p->told_apart)
        return arena_printf(p->a,
                            "The largest drops are %s (%s) and %s (%s); these shots do not tell "
                            "which of the two is larger.",
                            largest, drop_text(p, p->largest), pressure_drop_between(p, p->second),
                            drop_text(p, p->second));
    if (!act)
        return arena_printf(p->a, "The largest drop is %s (%s).", largest,
                            drop_text(p, p->largest));
    return arena_printf(p->a, "The largest drop is %s (%s): look first at %s.", largest,
                        drop_text(p, p->largest), look);
}

/* ---- the decision -------------------------------------------------------------------------- */

/* Says that it is melt pressure, unless the unit says hydraulic already. */
static const char *kind_of_pressure(const struct pressure_drop *p)
{
    const char *unit = p->trial->display[DIM_PRESSURE].name;
    return unit != NULL && strstr(unit, "hydraulic") != NULL ? "" : "a melt pressure of ";
}

static const char *taken(const struct pressure_drop *p)
{
    const struct pressure_drop_stage *s = &p->stages[p->deciding];
    double half = half_of(s->low, s->high);
    const char *pressure = pressure_drop_pressure(p, s->mean, half);
    if (isnan(p->use))
        return arena_printf(p->a, "Filling to stage %s takes %s%s", s->name, kind_of_pressure(p),
                            pressure);
    const char *interval =
        isnan(p->use_low)
            ? "no interval from one shot"
            : arena_printf(
                  p->a, "%s %% interval %s", number_text(p->a, p->confidence * 100.0, 2),
                  interval_text(p->a, p->trial->display, DIM_RATIO, p->use_low, p->use_high));
    return arena_printf(p->a, "Filling to stage %s takes %s%s, %s of the available %s (%s)",
                        s->name, kind_of_pressure(p), pressure,
                        pressure_drop_share(p, p->use, half_of(p->use_low, p->use_high)),
                        pressure_drop_pressure(p, p->available, PL_NAN), interval);
}

static const char *limited_sentence(const struct pressure_drop *p)
{
    const struct pressure_drop_stage *s = &p->stages[p->deciding];
    const char *reached = arena_printf(
        p->a,
        "Filling to stage %s reached %s%s, %s of the available %s: the mold needs "
        "that much or more, and the press no longer fills as set.",
        s->name, kind_of_pressure(p), pressure_drop_pressure(p, s->mean, half_of(s->low, s->mean)),
        pressure_drop_share(p, p->use, PL_NAN), pressure_drop_pressure(p, p->available, PL_NAN));
    const char *act =
        p->from == AVAILABLE_SET_LIMIT
            ? "It is the pressure limit set for filling that stops it: where press and mold "
              "permit, raise it and run the stage again, or fill slower."
            : "Fill slower or with hotter melt within the supplier's range, or take a press with "
              "more pressure.";
    return arena_printf(p->a, "%s %s", reached, act);
}

void pressure_drop_decision(struct pressure_drop *p)
{
    if (p->shots.n == 0) {
        p->f->decision = "There is no usable shot: nothing can be said about the pressure.";
        return;
    }
    const struct criterion *max = &p->f->criteria[0], *aim = &p->f->criteria[1];
    if (p->stages[p->deciding].at_limit) {
        p->f->decision = arena_printf(p->a, "%s %s", limited_sentence(p), where_sentence(p, true));
        return;
    }
    const char *limit = pressure_drop_share(p, max->limit, PL_NAN);
    const char *judged;
    bool act = true;
    if (isnan(p->use)) {
        judged = arena_printf(p->a, "; the available pressure is not known, so neither is its "
                                    "share.");
        act = false;
    } else if (max->verdict == VERDICT_NOT_MET) {
        judged = arena_printf(p->a,
                              ", more than the %s allowed: fill slower or with hotter melt within "
                              "the supplier's range, or lower what the mold takes.",
                              limit);
    } else if (max->verdict == VERDICT_NOT_SHOWN) {
        judged = arena_printf(
            p->a, "; these shots do not show whether that is within the %s allowed.", limit);
    } else if (aim->verdict == VERDICT_MET) {
        judged = ": the press has pressure in reserve.";
        act = false;
    } else {
        judged = arena_printf(p->a, ": within the %s allowed, but %s the %s aimed at.", limit,
                              aim->verdict == VERDICT_NOT_MET ? "above" : "not shown to be below",
                              pressure_drop_share(p, aim->limit, PL_NAN));
    }
    p->f->decision = arena_printf(p->a, "%s%s %s", taken(p), judged, where_sentence(p, act));
}

/* ---- next shots ---------------------------------------------------------------------------- */

static struct next_shot *ask(struct pressure_drop *p, size_t stage, int shots, const char *why)
{
    struct next_shot *s = finding_next_shot(p->f);
    s->setting = "stage";
    s->dimension = DIM_COUNT;
    s->at = 1.0 + (double)stage;
    s->shots = shots;
    s->series = p->stages[stage].name;
    s->why = why;
    return s;
}

static void promise(struct pressure_drop *p, struct next_shot *s, double then)
{
    const struct pressure_drop_stage *d = &p->stages[p->deciding];
    double now = half_of(d->low, d->high);
    if (!isfinite(then) || (isfinite(now) && !(then < MATH_NARROWS * now)))
        return;
    s->half_width_now = now;
    s->half_width_then = then;
    s->promise =
        arena_printf(p->a, "+-%s on the pressure at %s becomes about +-%s",
                     isfinite(now) ? pressure_drop_pressure(p, now, then) : "an unknown scatter",
                     d->name, pressure_drop_pressure(p, then, then));
}

/* An undecided criterion: all stages again, since how well a stage repeats decides as well. */
static bool ask_to_decide(struct pressure_drop *p)
{
    for (size_t i = 0; i < p->f->n_criteria; i++) {
        const struct criterion *c = &p->f->criteria[i];
        if (c->verdict != VERDICT_NOT_SHOWN || c->shots_to_decide <= 0 ||
            c->shots_to_decide > SHOTS_WORTH)
            continue;
        int k = c->shots_to_decide < SHOTS_PER_STAGE && p->stages[p->deciding].n > 1
                    ? SHOTS_PER_STAGE
                    : c->shots_to_decide;
        const char *why =
            arena_printf(p->a, "to tell whether the share of the available pressure is within %s",
                         pressure_drop_share(p, c->limit, PL_NAN));
        double then = pressure_drop_promise(p, k);
        for (size_t s = 0; s < p->n_stages; s++)
            if (!p->stages[s].at_limit)
                promise(p, ask(p, s, k, why), then);
        return true;
    }
    return false;
}

static bool ask_singles(struct pressure_drop *p)
{
    bool asked = false;
    for (size_t i = 0; i < p->n_stages; i++)
        if (p->stages[i].n == 1 && !p->stages[i].at_limit) {
            ask(p, i, SHOTS_PER_STAGE - 1, "one shot does not tell its scatter");
            asked = true;
        }
    return asked;
}

/* Decided, and so far from every limit that a scatter several times larger would change nothing. */
static bool is_far_from_limits(const struct pressure_drop *p)
{
    double half = half_of(p->use_low, p->use_high);
    bool far = isfinite(half);
    for (size_t i = 0; i < p->f->n_criteria; i++)
        far = far && fabs(p->use - p->f->criteria[i].limit) > FAR * half;
    return far;
}

void pressure_drop_next_shots(struct pressure_drop *p)
{
    if (p->any_out_of_order)
        return; /* the order comes first; more shots would not mend it */
    if (ask_singles(p) || ask_to_decide(p) || p->visit_dof > 0.0 || is_far_from_limits(p))
        return;
    for (size_t i = 0; i < p->n_stages; i++)
        if (!p->stages[i].at_limit)
            ask(p, i, SHOTS_PER_STAGE,
                "run all stages a second time: only that shows how well a stage repeats when it "
                "is set up anew");
}
