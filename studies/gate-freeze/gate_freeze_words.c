/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sentences and next shots, in the units people entered. */
#include <math.h>

#include "gate_freeze.h"

#define SHOTS_PER_CONDITION 3

const char *gate_freeze_time(const struct gate_freeze *g, double v, double half_width)
{
    return value_text(g->a, g->trial->display, DIM_TIME, v, half_width);
}

const char *gate_freeze_time_span(const struct gate_freeze *g, double low, double high)
{
    return interval_text(g->a, g->trial->display, DIM_TIME, low, high);
}

const char *gate_freeze_mass(const struct gate_freeze *g, double v, double half_width)
{
    return value_text(g->a, g->trial->display, DIM_MASS, v, half_width);
}

/* A bound, never shown shorter than it is. */
static const char *bound_text(const struct gate_freeze *g, double v, double half_width)
{
    return value_text_toward(g->a, g->trial->display, DIM_TIME, v, half_width, +1);
}

static double last_time(const struct gate_freeze *g)
{
    return g->blocks.group_x[g->blocks.n_groups - 1];
}

static const char *confidence_text(const struct gate_freeze *g)
{
    return arena_printf(g->a, "%s %%", number_text(g->a, g->confidence * 100.0, 2));
}

static const char *found_sentence(const struct gate_freeze *g)
{
    const struct plateau_answer *r = &g->r;
    const char *interval = gate_freeze_time_span(g, r->low, r->high);
    const char *tolerance = gate_freeze_mass(g, r->tolerance, r->tolerance / 10.0);
    if (g->cavity_unknown)
        return arena_printf(g->a,
                            "The mean over cavities levels off (%s interval %s), but one cavity's "
                            "own freeze time is not known: no hold time is bounded.",
                            confidence_text(g), interval);
    double half = isfinite(r->low) ? (r->high - r->low) / 2.0 : PL_NAN;
    if (g->last_cavity > 0 && g->no_common)
        return arena_printf(
            g->a, "Hold at least %s: of the two cavities %d freezes last (%s interval %s).",
            bound_text(g, g->last.bound, PL_NAN), g->last_cavity, confidence_text(g),
            gate_freeze_time_span(g, g->last.low, g->last.high));
    if (g->last_cavity > 0)
        return arena_printf(g->a,
                            "Hold at least %s: cavity %d freezes last (%s interval %s); the other "
                            "cavities come within %s of their plateau together (%s).",
                            bound_text(g, g->last.bound, PL_NAN), g->last_cavity,
                            confidence_text(g), gate_freeze_time_span(g, g->last.low, g->last.high),
                            tolerance, interval);
    if (isnan(r->value))
        return arena_printf(
            g->a,
            "Hold at least %s: from there on the part weight stays within %s of its "
            "plateau, %s (%s interval of the freeze time: %s).",
            bound_text(g, r->bound, PL_NAN), tolerance, gate_freeze_mass(g, r->level, r->tolerance),
            confidence_text(g), interval);
    return arena_printf(
        g->a,
        "Hold at least %s: the part weight comes within %s of its plateau, %s, at %s "
        "(%s interval %s).",
        bound_text(g, r->bound, half), tolerance, gate_freeze_mass(g, r->level, r->tolerance),
        gate_freeze_time(g, r->value, half), confidence_text(g), interval);
}

static const char *before_first_sentence(const struct gate_freeze *g)
{
    double first = g->blocks.group_x[0];
    return arena_printf(
        g->a,
        "Hold at least %s, the shortest time tested: every tested hold time gives the "
        "same part weight within %s, so the gate freezes earlier than that.",
        gate_freeze_time(g, first, PL_NAN),
        gate_freeze_mass(g, g->r.tolerance, g->r.tolerance / 10.0));
}

const char *gate_freeze_first_cause(const struct gate_freeze *g)
{
    size_t top;
    double fall;
    if (gate_freeze_falls(g, &top, &fall))
        return arena_printf(g->a,
                            "look for what makes the weight fall, by %s from %s on: drift of the "
                            "mold, a press that does not hold its pressure, a worn check ring",
                            gate_freeze_mass(g, fall, fall / 10.0),
                            gate_freeze_time(g, g->blocks.group_x[top], PL_NAN));
    if (g->r.tolerance_raised)
        return arena_printf(g->a,
                            "weigh on a balance that reads finer than %s, or weigh several parts "
                            "together",
                            gate_freeze_mass(g, g->options.step, PL_NAN));
    return NULL;
}

/* What to do where no plateau is told. */
static const char *next_sentence(const struct gate_freeze *g, const char *otherwise)
{
    const char *first = gate_freeze_first_cause(g);
    return first == NULL
               ? otherwise
               : arena_printf(g->a, "First %s; longer hold times come after that.", first);
}

static const char *not_reached_sentence(const struct gate_freeze *g)
{
    const struct plateau_answer *r = &g->r;
    const char *from = gate_freeze_time(g, g->blocks.group_x[r->rise_from], PL_NAN);
    const char *to = gate_freeze_time(g, last_time(g), PL_NAN);
    double half = isfinite(r->rise_se) ? r->rise_se : fabs(r->rise) / 20.0;
    if (r->rise < 0.0)
        return arena_printf(
            g->a,
            "No plateau in the tested range: the part weight falls by %s from %s to "
            "%s. Find the cause before a hold time is chosen.",
            gate_freeze_mass(g, -r->rise, half), from, to);
    return arena_printf(
        g->a,
        "No plateau in the tested range: the part weight still rises by %s from %s to "
        "%s, more than the %s allowed. %s",
        gate_freeze_mass(g, r->rise, half), from, to,
        gate_freeze_mass(g, r->tolerance, r->tolerance / 10.0),
        g->r.tolerance_raised ? next_sentence(g, "") : "Test longer hold times.");
}

void gate_freeze_decision(struct gate_freeze *g)
{
    const struct plateau_answer *r = &g->r;
    switch (r->state) {
    case PLATEAU_FOUND:
        g->f->decision = found_sentence(g);
        break;
    case PLATEAU_BRACKET_ONLY:
        g->f->decision = arena_printf(
            g->a,
            "Hold at least %s: the gate freezes between two tested hold times (%s); too few were "
            "tested to say more.",
            bound_text(g, r->bound, PL_NAN), gate_freeze_time_span(g, r->low, r->high));
        break;
    case PLATEAU_BEFORE_FIRST:
        g->f->decision = before_first_sentence(g);
        break;
    case PLATEAU_OPEN:
        g->f->decision = arena_printf(g->a,
                                      "The weight levels off, but not two tested hold times "
                                      "(longest %s) lie beyond the freeze "
                                      "time's interval: no hold time is bounded. %s",
                                      gate_freeze_time(g, last_time(g), PL_NAN),
                                      next_sentence(g, "Test longer ones."));
        break;
    case PLATEAU_UNDECIDED:
        g->f->decision =
            g->blocks.n_groups < 2
                ? "There is only one hold time: nothing can be said about the gate. Run shorter "
                  "and longer ones."
                : arena_printf(
                      g->a,
                      "These weights do not tell a plateau from a slope: no freeze time is "
                      "given. %s",
                      next_sentence(
                          g,
                          arena_printf(g->a, "Test hold times beyond %s, with more shots at each.",
                                       gate_freeze_time(g, last_time(g), PL_NAN))));
        break;
    case PLATEAU_NOT_REACHED:
        g->f->decision = not_reached_sentence(g);
        break;
    }
    const char *first = gate_freeze_first_cause(g);
    if (first != NULL && isfinite(r->bound) && !g->cavity_unknown)
        g->f->decision = arena_printf(g->a, "%s But %s.", g->f->decision, first);
}

/* ---- next shots
 * -------------------------------------------------------------------------------------- */

static const char *why_text(const struct gate_freeze *g, const struct plateau_next *n)
{
    switch (n->kind) {
    case NEXT_EXTEND:
        return "the plateau is not in the data yet";
    case NEXT_SHORTER:
        return "every tested hold time is on the plateau; a shorter one may save cycle time";
    case NEXT_MIDWAY:
        return "the interval cannot be finer than the spacing of the tested hold times";
    case NEXT_OPTIMAL:
        return "here a shot narrows the fitted freeze time most";
    case NEXT_AROUND:
        return "these two hold times enclose the safe end of the interval";
    case NEXT_REPEAT:
        return arena_printf(g->a, "to show that the plateau is flat within %s",
                            gate_freeze_mass(g, g->r.tolerance, g->r.tolerance / 10.0));
    case NEXT_NONE:
        break;
    }
    return "";
}

static const char *promise_text(const struct gate_freeze *g, const struct plateau_next *n)
{
    if (isnan(n->half_width_then))
        return n->kind == NEXT_REPEAT
                   ? "probably decides whether the plateau is flat, if its scatter stays the same"
                   : NULL;
    double now = n->half_width_now, then = n->half_width_then;
    return arena_printf(g->a, "+-%s becomes about +-%s",
                        isfinite(now) ? gate_freeze_time(g, now, then) : "an open interval",
                        gate_freeze_time(g, then, then));
}

/* One hold time: the freeze time may lie on either side of it. */
static void around_one(struct gate_freeze *g)
{
    static const double times[] = {0.5, 0.75, 1.5, 2.0};
    for (size_t i = 0; i < PL_COUNT(times); i++) {
        double at = ceil(times[i] * g->blocks.group_x[0] / g->time_step - 1e-9) * g->time_step;
        if (!(at > 0.0))
            continue;
        struct next_shot *s = finding_next_shot(g->f);
        s->setting = "hold_time";
        s->dimension = DIM_TIME;
        s->at = at;
        s->shots = SHOTS_PER_CONDITION;
        s->why = "one hold time does not tell on which side of it the gate freezes";
    }
}

void gate_freeze_next_shots(struct gate_freeze *g)
{
    struct plateau_next next[2];
    if (g->blocks.n_groups == 1) {
        around_one(g);
        return;
    }
    if (g->r.shot_sd > g->r.tolerance)
        return; /* the scatter comes first: more hold times would show nothing */
    bool cavity = g->last_cavity > 0;
    struct plateau_options o = gate_freeze_options(g, cavity);
    size_t n =
        plateau_next_shots(cavity ? &g->last_blocks : &g->blocks, &o, cavity ? &g->last : &g->r,
                           g->time_step, SHOTS_PER_CONDITION, next);
    bool mend_first = gate_freeze_first_cause(g) != NULL;
    /* a short trial shows whether the approved hold time holds, and seeks none of its own */
    bool finer = n > 0 && (next[0].kind == NEXT_SHORTER || next[0].kind == NEXT_MIDWAY ||
                           next[0].kind == NEXT_OPTIMAL);
    if (finer && facts_text(&g->trial->facts, "approved", "record") != NULL)
        return;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < next[i].n && !(mend_first && next[i].kind == NEXT_EXTEND); j++) {
            struct next_shot *s = finding_next_shot(g->f);
            s->setting = "hold_time";
            s->dimension = DIM_TIME;
            s->at = next[i].at[j];
            s->shots = next[i].shots;
            if (cavity)
                s->series = arena_printf(g->a, "cavity %d", g->last_cavity);
            s->why = why_text(g, &next[i]);
            s->promise = promise_text(g, &next[i]);
            s->half_width_now = next[i].half_width_now;
            s->half_width_then = next[i].half_width_then;
        }
}
