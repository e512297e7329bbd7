/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A short trial after a change of material lot is held against the record it was made from: its few
 * shots make no aim and no convention of their own. The approved limits stand until a real limit of
 * the new lot lies on their wrong side, and the approved aim stands or falls with them. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

#define SAME 1e-6 /* of a setting: typed in other digits than those that the record holds */

static const struct facts *facts_of(const struct work *w)
{
    return w->premises != NULL ? w->premises->facts : NULL;
}

const char *window_approved_record(const struct work *w)
{
    return facts_text(facts_of(w), "approved", "record");
}

static const char *key_of(const struct work *w, const char *name, const char *part)
{
    return arena_printf(w->arena, "%s.%s", name, part);
}

double window_approved_number(const struct work *w, const char *name, const char *part)
{
    return facts_number(facts_of(w), "approved", key_of(w, name, part), PL_NAN);
}

const char *window_approved_text(const struct work *w, const char *name, const char *part)
{
    return facts_text(facts_of(w), "approved", key_of(w, name, part));
}

static enum verdict approved_verdict(const struct work *w, const char *setting)
{
    const char *s = window_approved_text(w, setting, "verdict");
    for (int v = VERDICT_NONE; s != NULL && v <= VERDICT_NOT_MET; v++)
        if (strcmp(s, verdict_text((enum verdict)v)) == 0)
            return (enum verdict)v;
    return VERDICT_NOT_SHOWN;
}

static bool is_approved(const struct work *w, const char *setting)
{
    return window_approved_record(w) != NULL &&
           (isfinite(window_approved_number(w, setting, "low")) ||
            isfinite(window_approved_number(w, setting, "high")));
}

/* ---- the record's limits --------------------------------------------------------------------- */

static const struct bound *approved_bound(struct work *w, const struct setting_spec *s,
                                          enum bound_side side)
{
    bool lower = side == BOUND_LOWER;
    double value = window_approved_number(w, s->setting, lower ? "low" : "high");
    if (!isfinite(value))
        return NULL;
    const char *from = window_approved_text(w, s->setting, lower ? "low_from" : "high_from");
    const char *kind = window_approved_text(w, s->setting, lower ? "low_kind" : "high_kind");
    const char *why = window_approved_text(w, s->setting, lower ? "low_why" : "high_why");
    struct bound *b = window_derive(w, NULL, 0.0);
    *b = (struct bound){.setting = s->setting,
                        .side = side,
                        .dimension = s->dimension,
                        .value = value,
                        .low = value,
                        .high = value,
                        .grade = kind != NULL && strcmp(kind, "convention") == 0 ? BOUND_CONVENTION
                                                                                 : BOUND_LIMIT,
                        .study = WINDOW_BY_RECORD,
                        .model = from,
                        .verdict = VERDICT_MET,
                        .because = why != NULL ? why : "as approved"};
    return b;
}

/* ---- what this trial shows ------------------------------------------------------------------- */

/* A limit of this trial against the approved one of its side. */
enum standing {
    STANDS,  /* the approved limit is kept to, or not contradicted, and so is the aim */
    TIGHTER, /* the approved limit is contradicted; the aim lies on the safe side of the new one */
    AIM_UNSURE, /* it cannot be told whether the aim does */
    AIM_FALLS   /* the aim lies on the wrong side */
};

struct outcome {
    enum standing standing;
    const struct bound *limit; /* of this trial, the one that speaks hardest; NULL: none */
    const struct bound *confirmed;
};

/* The place of a condition on the scale of a setting; NAN: it does not say. */
static double place_of(const struct condition *c, const struct setting_spec *s)
{
    if (strcmp(s->setting, "fill_time") == 0)
        return c->series != NULL && strcmp(c->series, "fill time") == 0 ? c->mean : PL_NAN;
    return c->setting_dimension == s->dimension ? c->setting : PL_NAN;
}

/* Whether shots were run beyond the limit. Without them it says how far the trial went, not how far
 * the lot goes. */
static bool was_passed(const struct work *w, const struct setting_spec *s, const struct bound *b)
{
    const struct finding *f = window_finding(w, b->study);
    bool any = false;
    for (size_t i = 0; f != NULL && i < f->n_conditions; i++) {
        double x = place_of(&f->conditions[i], s);
        if (!isfinite(x))
            continue;
        any = true;
        double off = b->side == BOUND_LOWER ? b->value - x : x - b->value;
        if (off > SAME * fabs(b->value))
            return true;
    }
    return !any;
}

/* A knee follows the tested speeds, and those of a short trial are few. */
static bool is_of_the_lot(const struct bound *b)
{
    return b->grade == BOUND_LIMIT ||
           (b->criterion != NULL && strcmp(b->criterion, "pressure_use_max") == 0);
}

/* Positive: a lies on the wrong side of the limit b. */
static double beyond(enum bound_side side, double limit, double a)
{
    double off = side == BOUND_LOWER ? limit - a : a - limit;
    return fabs(off) > SAME * fabs(limit) ? off : 0.0;
}

/* Past the far end of a bracket: that end itself was run, and failed. */
static bool is_safe(enum bound_side side, double end, double v)
{
    double slack = SAME * fabs(v);
    return side == BOUND_LOWER ? v > end + slack : v < end - slack;
}

static enum standing stands(const struct work *w, const struct setting_spec *s,
                            const struct bound *b, const struct bound *approved, double aim)
{
    double end = b->side == BOUND_LOWER ? b->low : b->high; /* what it may be at best */
    if (isnan(end) || !was_passed(w, s, b))
        end = b->side == BOUND_LOWER ? -PL_INF : PL_INF;
    if (isfinite(aim) && beyond(b->side, b->value, aim) > 0.0)
        return is_safe(b->side, end, aim) ? AIM_UNSURE : AIM_FALLS;
    if (approved == NULL || !(beyond(b->side, b->value, approved->value) > 0.0))
        return STANDS;
    return is_safe(b->side, end, approved->value) ? STANDS : TIGHTER;
}

/* The limits of one side of this trial against the approved one. Only those that change something
 * are left in the list. */
static struct outcome weigh(const struct work *w, const struct setting_spec *s,
                            const struct bound **list, size_t *n, const struct bound *approved,
                            double aim)
{
    struct outcome o = {STANDS, NULL, NULL};
    size_t kept = 0;
    for (size_t i = 0; i < *n; i++) {
        const struct bound *b = list[i];
        if (!is_of_the_lot(b))
            continue;
        enum standing st = stands(w, s, b, approved, aim);
        if (st == AIM_UNSURE && !was_passed(w, s, b))
            continue; /* how far the trial went */
        if (st > o.standing || o.limit == NULL) {
            o.limit = b;
            o.standing = st > o.standing ? st : o.standing;
        }
        if (st == TIGHTER || st == AIM_FALLS)
            list[kept++] = b;
        else if (st == STANDS && o.confirmed == NULL)
            o.confirmed = b;
    }
    *n = kept;
    return o;
}

static void put_first(const struct bound **list, size_t *n, const struct bound *b)
{
    if (b == NULL)
        return;
    size_t i = (*n)++;
    for (; i > 0 && beyond(b->side, b->value, list[i - 1]->value) > 0.0; i--)
        list[i] = list[i - 1];
    list[i] = b;
}

/* ---- was the aim run --------------------------------------------------------------------------
 */

enum run { NOT_LOOKED_AT, NOT_AT_THE_AIM, HELD_AT_THE_AIM, AT_THE_AIM };

/* A speed or a fill time is tried where shots ran at it; a hold time by the limit it has to keep
 * to.
 */
static enum run how_tried(const struct work *w, const struct setting_spec *s,
                          const struct finding *f, double aim)
{
    if (f == NULL)
        return NOT_LOOKED_AT;
    const struct setting_spec *by = s;
    if (strcmp(s->setting, "fill_time") == 0) {
        double speed = window_approved_number(w, "injection_speed", "aim");
        by = isfinite(speed) ? window_spec("injection_speed") : s;
        aim = isfinite(speed) ? speed : aim;
    }
    enum run best = NOT_AT_THE_AIM;
    for (size_t i = 0; i < f->n_conditions; i++) {
        double x = place_of(&f->conditions[i], by);
        if (!isfinite(x) || !isfinite(aim) || fabs(x - aim) > SAME * fabs(aim))
            continue;
        if (f->conditions[i].left_out == NULL)
            return AT_THE_AIM;
        best = HELD_AT_THE_AIM;
    }
    return best;
}

static bool is_stopped(const struct finding *f)
{
    for (size_t i = 0; i < f->n_flags; i++)
        if (f->flags[i].grade == FLAG_STOP)
            return true;
    return false;
}

/* ---- sentences ------------------------------------------------------------------------------- */

/* "at least 8 s" */
static const char *limit_words(const struct work *w, const struct setting_spec *s,
                               const struct bound *b)
{
    bool lower = b->side == BOUND_LOWER;
    return arena_printf(
        w->arena, "%s %s", lower ? "at least" : "at most",
        setting_limit_text(w->arena, w->premises, s->setting, s->dimension, b->value,
                           strcmp(b->study, WINDOW_BY_RECORD) == 0 ? NULL : b, lower ? +1 : -1));
}

/* A sentence's end, as it is in the middle of another. */
static const char *ended(const struct work *w, const char *s)
{
    size_t n = strlen(s);
    bool ends = n > 0 && strchr(".!?", s[n - 1]) != NULL;
    return arena_printf(w->arena, "%s%s", s, ends ? "" : ".");
}

static void add_approved(struct work *w, const struct setting_spec *s, const struct bound *b,
                         struct text *t)
{
    if (b == NULL)
        return;
    const char *words = limit_words(w, s, b);
    text_addf(t, "%sApproved: %s, from %s%s: %s", t->length > 0 ? " " : "", words,
              b->model != NULL ? b->model : "the record",
              b->grade == BOUND_CONVENTION ? ", a convention" : "", ended(w, b->because));
}

static void say_new_limit(struct work *w, const struct setting_spec *s, const struct outcome *o,
                          double aim, struct text *t)
{
    const struct bound *b = o->limit;
    const char *aim_words = window_words(w, s, aim, 0);
    if (o->standing == AIM_UNSURE)
        text_addf(t,
                  " These shots cannot tell whether %s is %s for the new lot: its limit lies from "
                  "%s to %s.",
                  aim_words, b->side == BOUND_LOWER ? "enough" : "not too much",
                  window_words(w, s, b->low, 0), window_words(w, s, b->high, 0));
    if (o->standing != TIGHTER && o->standing != AIM_FALLS)
        return;
    text_addf(t, " The new lot has a limit of its own, %s, from %s: %s", limit_words(w, s, b),
              b->study, ended(w, b->because));
    if (isfinite(aim))
        text_addf(t, " The approved aim, %s, lies on %s.", aim_words,
                  o->standing == TIGHTER ? "its safe side" : "its wrong side");
}

static void say_standing(struct work *w, const struct setting_spec *s, const struct outcome *low,
                         const struct outcome *high, enum run run, double aim, struct text *t)
{
    if (run == NOT_LOOKED_AT) {
        text_add(t, " This short trial did not try it on the new lot.");
        return;
    }
    say_new_limit(w, s, low, aim, t);
    say_new_limit(w, s, high, aim, t);
    if (low->standing != STANDS || high->standing != STANDS)
        return;
    const char *at = window_words(w, s, aim, 0);
    if (s->aim == AIM_LOWER_PLUS_MARGIN) {
        if (low->confirmed != NULL && low->confirmed->verdict == VERDICT_MET)
            text_addf(t, " In these shots the new lot needs %s, and the approved aim gives it.",
                      limit_words(w, s, low->confirmed));
    } else if (s->aim == AIM_NONE) {
        return;
    } else if (run == HELD_AT_THE_AIM) {
        text_addf(t,
                  " At %s the new lot was held by a limit of the press: see %s for the pressure "
                  "and the speed.",
                  at, s->study);
    } else if (run == NOT_AT_THE_AIM) {
        text_add(t, " No shots of the new lot were run at the approved aim.");
    } else {
        text_add(t, " At this aim the new lot ran free of the press's limits.");
    }
}

/* ---- a setting ------------------------------------------------------------------------------- */

/* What this trial makes of the setting, without the verdict it was approved with. */
static enum verdict verdict_here(const struct setting_spec *s, const struct finding *f,
                                 const struct outcome *low, const struct outcome *high,
                                 enum run run)
{
    if (run == NOT_LOOKED_AT)
        return VERDICT_NONE;
    if (low->standing == AIM_FALLS || high->standing == AIM_FALLS)
        return VERDICT_NOT_MET;
    bool by_limit = s->aim == AIM_LOWER_PLUS_MARGIN; /* the study's own limit has to be found */
    if (by_limit && low->limit == NULL)
        return f->verdict == VERDICT_NOT_MET ? VERDICT_NOT_MET : VERDICT_NOT_SHOWN;
    if (low->standing == AIM_UNSURE || high->standing == AIM_UNSURE || is_stopped(f))
        return VERDICT_NOT_SHOWN;
    if (by_limit)
        return low->limit->verdict == VERDICT_MET ? VERDICT_MET : VERDICT_NOT_SHOWN;
    if (s->aim == AIM_NONE)
        return VERDICT_MET;
    return run == AT_THE_AIM        ? VERDICT_MET
           : run == HELD_AT_THE_AIM ? VERDICT_NOT_MET
                                    : VERDICT_NOT_SHOWN;
}

static void set_aim(struct work *w, const struct setting_spec *s, double aim, bool falls,
                    struct window_setting *out)
{
    if (!isfinite(aim)) {
        out->aim_because = s->aim == AIM_NONE
                               ? arena_printf(w->arena,
                                              "the %s follows from other settings: it is watched, "
                                              "not set",
                                              s->noun)
                               : "the approved record has none";
        return;
    }
    if (falls) {
        out->aim_because = arena_printf(
            w->arena,
            "the approved one, %s, does not hold for this lot, and a short trial makes "
            "no new one: run the whole study on this lot, or go back to the approved "
            "lot",
            window_words(w, s, aim, 0));
        return;
    }
    out->aim = aim;
    out->aim_because = "the aim of the approved record";
    out->aim_is_result = strcmp(s->setting, "fill_time") == 0 &&
                         isfinite(window_approved_number(w, "injection_speed", "aim"));
}

bool window_approved_setting(struct work *w, const struct setting_spec *s, struct setting_bounds *b,
                             struct window_setting *out)
{
    if (!is_approved(w, s->setting))
        return false;
    double aim = window_approved_number(w, s->setting, "aim");
    const struct finding *f = window_finding(w, s->study);
    enum run run = how_tried(w, s, f, aim);
    const struct bound *low = approved_bound(w, s, BOUND_LOWER),
                       *high = approved_bound(w, s, BOUND_UPPER);
    struct outcome at_low = weigh(w, s, b->lower, &b->n_lower, low, aim);
    struct outcome at_high = weigh(w, s, b->upper, &b->n_upper, high, aim);
    put_first(b->lower, &b->n_lower, low);
    put_first(b->upper, &b->n_upper, high);
    window_combine(w, s, b, out);
    enum verdict here = verdict_here(s, f, &at_low, &at_high, run);
    *ARENA_PUSH(w->arena, w->approved, w->n_approved, w->cap_approved) =
        (struct approved_setting){s->setting, here};
    enum verdict was = approved_verdict(w, s->setting);
    out->verdict =
        run == NOT_LOOKED_AT && was == VERDICT_MET ? VERDICT_NONE : verdict_worst(was, here);
    out->by_convention = out->by_convention && out->verdict == VERDICT_MET;
    bool falls = at_low.standing == AIM_FALLS || at_high.standing == AIM_FALLS;
    set_aim(w, s, aim, falls, out);
    struct text t;
    text_init(&t, w->arena);
    if (isfinite(out->aim))
        text_addf(&t, "%s %s, as approved.", out->aim_is_result ? "Expect" : "Set",
                  window_words(w, s, out->aim, 0));
    add_approved(w, s, low, &t);
    add_approved(w, s, high, &t);
    if (run != NOT_LOOKED_AT && here != VERDICT_MET && at_low.limit == NULL &&
        s->aim == AIM_LOWER_PLUS_MARGIN && f->decision != NULL)
        text_addf(&t, " The new lot: %s", window_sentence(w, f->decision));
    say_standing(w, s, &at_low, &at_high, run, aim, &t);
    if (was > VERDICT_MET)
        text_addf(&t, " In the approved record it was %s.", verdict_text(was));
    out->because = t.s;
    return true;
}

bool window_approved_replaces(const struct work *w, const struct finding *f)
{
    for (size_t i = 0; i < w->n_approved; i++) {
        const struct setting_spec *s = window_spec(w->approved[i].setting);
        if (s->study != NULL && strcmp(s->study, f->study) == 0)
            return true;
    }
    return false;
}
